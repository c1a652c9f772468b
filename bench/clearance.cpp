// Distances and arm-state checks by FCL, timed. Built with -O3.
//
// Standard input, text: "pairs" P, then for each pair kind of work: shape a, shape b; a number of placements N; 24 numbers each
// (pose a, pose b, row-major 3 x 4). Shape: capsule r l | box x y z | cylinder r l | convex n m points faces | mesh n m points
// triangles. Then "scene" bodies: frame (-1 world), pose, shape; pairs; states of six joint values; "free" indices of states.
// Standard output: nanoseconds per distance for each pair kind; then for the scene nanoseconds per state of the boolean
// check, how many collide, nanoseconds per free state of the least distance, and the sum of the least distances.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <memory>
#include <string>
#include <vector>
#include <fcl/fcl.h>

using Geometry = std::shared_ptr<fcl::CollisionGeometryd>;
using Clock = std::chrono::steady_clock;

static double number() {
  double value;
  if (!(std::cin >> value)) exit(2);
  return value;
}

static Geometry shape() {
  std::string kind;
  std::cin >> kind;
  if (kind == "capsule") { const double r = number(), l = number(); return std::make_shared<fcl::Capsuled>(r, l); }
  if (kind == "cylinder") { const double r = number(), l = number(); return std::make_shared<fcl::Cylinderd>(r, l); }
  if (kind == "box") { const double x = number(), y = number(), z = number(); return std::make_shared<fcl::Boxd>(x, y, z); }
  const int points = static_cast<int>(number()), triangles = static_cast<int>(number());
  auto vertices = std::make_shared<std::vector<fcl::Vector3d>>();
  for (int i = 0; i < points; i++) { const double x = number(), y = number(), z = number(); vertices->push_back({x, y, z}); }
  auto faces = std::make_shared<std::vector<int>>();
  std::vector<fcl::Triangle> list;
  for (int i = 0; i < triangles; i++) {
    const int a = static_cast<int>(number()), b = static_cast<int>(number()), c = static_cast<int>(number());
    faces->insert(faces->end(), {3, a, b, c});
    list.emplace_back(a, b, c);
  }
  if (kind == "convex") return std::make_shared<fcl::Convexd>(vertices, triangles, faces, true);
  auto mesh = std::make_shared<fcl::BVHModel<fcl::OBBRSSd>>();
  mesh->beginModel();
  mesh->addSubModel(*vertices, list);
  mesh->endModel();
  return mesh;
}

static fcl::Transform3d pose() {
  fcl::Transform3d out = fcl::Transform3d::Identity();
  for (int r = 0; r < 3; r++)
    for (int c = 0; c < 4; c++) out(r, c) = number();
  return out;
}

static double sink = 0;

/** Fastest of the passes, nanoseconds per piece. */
template <class Work> static double fastest(int passes, size_t pieces, Work work) {
  double best = 1e300;
  for (int pass = 0; pass < passes; pass++) {
    const auto start = Clock::now();
    for (size_t i = 0; i < pieces; i++) work(i);
    best = std::min(best, std::chrono::duration<double, std::nano>(Clock::now() - start).count() / pieces);
  }
  return best;
}

static void pairKind(int passes) {
  const Geometry a = shape(), b = shape();
  const int count = static_cast<int>(number());
  std::vector<fcl::Transform3d> as, bs;
  for (int i = 0; i < count; i++) { as.push_back(pose()); bs.push_back(pose()); }
  std::vector<double> found(count);
  fcl::DistanceRequestd ask;
  const double time = fastest(passes, count, [&](size_t i) {
    fcl::DistanceResultd result;
    found[i] = fcl::distance(a.get(), as[i], b.get(), bs[i], ask, result);
  });
  printf("%.17g", time);
  for (double d : found) printf(" %.17g", d);
  printf("\n");
}

struct Link { double a, ca, sa, d; };
static const double H = M_PI / 2;
static const Link links[6] = {{0, std::cos(H), std::sin(H), 0.16}, {-0.43, 1, 0, 0}, {-0.39, 1, 0, 0},
                              {0, std::cos(H), std::sin(H), 0.13}, {0, std::cos(H), -std::sin(H), 0.1}, {0, 1, 0, 0.09}};

static void frames(const double* q, fcl::Transform3d* out) {
  out[0].setIdentity();
  for (int i = 0; i < 6; i++) {
    const double c = std::cos(q[i]), s = std::sin(q[i]);
    const Link& l = links[i];
    fcl::Transform3d step = fcl::Transform3d::Identity();
    step.matrix() << c, -s * l.ca, s * l.sa, l.a * c, s, c * l.ca, -c * l.sa, l.a * s, 0, l.sa, l.ca, l.d, 0, 0, 0, 1;
    out[i + 1] = out[i] * step;
  }
}

int main() {
  const int passes = static_cast<int>(number());
  const int pairKinds = static_cast<int>(number());
  for (int i = 0; i < pairKinds; i++) pairKind(passes);

  const int bodies = static_cast<int>(number());
  std::vector<int> frame;
  std::vector<fcl::Transform3d> local;
  std::vector<std::unique_ptr<fcl::CollisionObjectd>> objects;
  for (int i = 0; i < bodies; i++) {
    frame.push_back(static_cast<int>(number()));
    local.push_back(pose());
    objects.emplace_back(new fcl::CollisionObjectd(shape(), local.back()));
    objects.back()->computeAABB();
  }
  const int count = static_cast<int>(number());
  std::vector<std::pair<int, int>> pairs;
  for (int i = 0; i < count; i++) { const int a = static_cast<int>(number()), b = static_cast<int>(number()); pairs.emplace_back(a, b); }
  const int stateCount = static_cast<int>(number());
  std::vector<double> states;
  for (int i = 0; i < 6 * stateCount; i++) states.push_back(number());

  const auto place = [&](size_t i) {
    fcl::Transform3d at[7];
    frames(&states[6 * i], at);
    for (int k = 0; k < bodies; k++) {
      if (frame[k] < 0) continue;
      objects[k]->setTransform(at[frame[k]] * local[k]);
      objects[k]->computeAABB();
    }
  };
  std::vector<char> hits(stateCount);
  const double boolean = fastest(passes, stateCount, [&](size_t i) {
    place(i);
    hits[i] = 0;
    for (const auto& [a, b] : pairs) {
      if (!objects[a]->getAABB().overlap(objects[b]->getAABB())) continue;
      fcl::CollisionRequestd ask;
      fcl::CollisionResultd result;
      if (fcl::collide(objects[a].get(), objects[b].get(), ask, result) > 0) { hits[i] = 1; break; }
    }
  });
  std::vector<size_t> free;
  for (int i = 0; i < stateCount; i++) if (!hits[i]) free.push_back(i);
  std::vector<double> least(free.size()), bounds(count);
  const double minimum = fastest(passes, free.size(), [&](size_t k) {
    place(free[k]);
    // The pair whose boxes are nearest first; then all others that its distance does not rule out.
    size_t start = 0;
    for (int p = 0; p < count; p++) {
      bounds[p] = objects[pairs[p].first]->getAABB().distance(objects[pairs[p].second]->getAABB());
      if (bounds[p] < bounds[start]) start = p;
    }
    fcl::DistanceRequestd ask;
    const auto look = [&](size_t p) {
      fcl::DistanceResultd result;
      return fcl::distance(objects[pairs[p].first].get(), objects[pairs[p].second].get(), ask, result);
    };
    double known = look(start);
    for (int p = 0; p < count; p++) {
      if (static_cast<size_t>(p) == start || bounds[p] >= known) continue;
      known = std::min(known, look(p));
    }
    least[k] = known;
  });
  printf("%.17g %d %.17g", boolean, static_cast<int>(stateCount - free.size()), minimum);
  for (double d : least) printf(" %.17g", d);
  printf("\n");
}
