// Routes by OMPL, states, paths and distances by FCL, for an arm among bodies.
//
// Standard input, numbers apart by blanks:
//   the arm: joints n; each joint: 1 slides, 0 turns; its placement (12, row-major 3 x 4) in the joint frame before it; least and
//     greatest value; then the flange's placement in the last joint frame. The motion is about or along z.
//   the bodies: how many; each: frame (-1 base, 0 to n - 1 joint frames after their motion, n flange), place in it (12), shape
//     (sphere r | capsule r length | cylinder r length | box x y z | convex or mesh: points, triangles, coordinates, corners)
//   the pairs: how many; each: two bodies
//   commands, each answered by lines of JSON:
//     seed S                               all random numbers that follow; once, before the first plan; no answer
//     plan runs limit step start goal      RRTConnect with its default range, edges checked every `step` rad, at most `limit` s,
//                                          then the default simplification; a line for each run
//     states m, then m states              1 where any pair overlaps, else 0, in one list
//     paths step m, then m paths           each: corners k, k states; OMPL's motion validator at `step` rad over each edge:
//                                          edge and share where the first sample is not clear, or null
//     least step m, then m paths           least distance over all pairs at samples at most `step` rad apart (by FCL, tolerance
//                                          1e-10, overlaps as -1), edge and share where it is met
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <memory>
#include <string>
#include <vector>
#include <fcl/fcl.h>
#include <ompl/base/DiscreteMotionValidator.h>
#include <ompl/base/spaces/RealVectorStateSpace.h>
#include <ompl/geometric/SimpleSetup.h>
#include <ompl/geometric/planners/rrt/RRTConnect.h>
#include <ompl/util/Console.h>
#include <ompl/util/RandomNumbers.h>

namespace ob = ompl::base;
namespace og = ompl::geometric;
using Geometry = std::shared_ptr<fcl::CollisionGeometryd>;
using State = std::vector<double>;
using Path = std::vector<State>;

static double number() {
  double value;
  if (!(std::cin >> value)) { fprintf(stderr, "a number was expected\n"); exit(2); }
  return value;
}

static int count() { return static_cast<int>(number()); }

static fcl::Transform3d pose() {
  fcl::Transform3d out = fcl::Transform3d::Identity();
  for (int r = 0; r < 3; r++)
    for (int c = 0; c < 4; c++) out(r, c) = number();
  return out;
}

static Geometry shape() {
  std::string kind;
  std::cin >> kind;
  if (kind == "sphere") return std::make_shared<fcl::Sphered>(number());
  if (kind == "capsule") { const double r = number(), l = number(); return std::make_shared<fcl::Capsuled>(r, l); }
  if (kind == "cylinder") { const double r = number(), l = number(); return std::make_shared<fcl::Cylinderd>(r, l); }
  if (kind == "box") { const double x = number(), y = number(), z = number(); return std::make_shared<fcl::Boxd>(x, y, z); }
  if (kind != "convex" && kind != "mesh") { fprintf(stderr, "no shape: %s\n", kind.c_str()); exit(2); }
  const int points = count(), triangles = count();
  auto vertices = std::make_shared<std::vector<fcl::Vector3d>>();
  for (int i = 0; i < points; i++) { const double x = number(), y = number(), z = number(); vertices->push_back({x, y, z}); }
  auto faces = std::make_shared<std::vector<int>>();
  std::vector<fcl::Triangle> list;
  for (int i = 0; i < triangles; i++) {
    const int a = count(), b = count(), c = count();
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

struct Joint { bool slides; fcl::Transform3d placement; double least, greatest; };

struct Scene {
  std::vector<Joint> joints;
  fcl::Transform3d flange;
  std::vector<int> frame;
  std::vector<fcl::Transform3d> local;
  std::vector<std::unique_ptr<fcl::CollisionObjectd>> objects;
  /** Pairs of which one at least moves. Pairs of two fixed bodies are looked at once, when they are read. */
  std::vector<std::pair<int, int>> pairs;
  bool fixedOverlap = false;
  double fixedLeast = INFINITY;
  std::vector<fcl::Transform3d> frames;
  std::vector<double> bounds;

  void read() {
    const int n = count();
    for (int i = 0; i < n; i++) {
      const bool slides = number() != 0;
      const fcl::Transform3d placement = pose();
      const double least = number(), greatest = number();
      joints.push_back({slides, placement, least, greatest});
    }
    flange = pose();
    frames.resize(n + 1);
    const int bodies = count();
    for (int i = 0; i < bodies; i++) {
      frame.push_back(count());
      local.push_back(pose());
      objects.emplace_back(new fcl::CollisionObjectd(shape(), local.back()));
      objects.back()->computeAABB();
    }
    const int all = count();
    for (int i = 0; i < all; i++) {
      const int a = count(), b = count();
      if (frame[a] >= 0 || frame[b] >= 0) { pairs.emplace_back(a, b); continue; }
      fixedLeast = std::min(fixedLeast, distance(a, b));
      fixedOverlap = fixedOverlap || overlap(a, b);
    }
    bounds.resize(pairs.size());
  }

  void place(const double* q) {
    fcl::Transform3d at = fcl::Transform3d::Identity();
    for (size_t i = 0; i < joints.size(); i++) {
      at = at * joints[i].placement;
      if (joints[i].slides) {
        at.translation() += q[i] * at.linear().col(2);
      } else {
        const double c = std::cos(q[i]), s = std::sin(q[i]);
        const fcl::Vector3d x = at.linear().col(0), y = at.linear().col(1);
        at.linear().col(0) = c * x + s * y;
        at.linear().col(1) = c * y - s * x;
      }
      frames[i] = at;
    }
    frames.back() = at * flange;
    for (size_t k = 0; k < objects.size(); k++) {
      if (frame[k] < 0) continue;
      objects[k]->setTransform(frames[frame[k]] * local[k]);
      objects[k]->computeAABB();
    }
  }

  bool overlap(int a, int b) const {
    fcl::CollisionRequestd ask;
    fcl::CollisionResultd result;
    return fcl::collide(objects[a].get(), objects[b].get(), ask, result) > 0;
  }

  double distance(int a, int b) const {
    if (overlap(a, b)) return -1;
    fcl::DistanceRequestd ask;
    ask.distance_tolerance = 1e-10;
    fcl::DistanceResultd result;
    return fcl::distance(objects[a].get(), objects[b].get(), ask, result);
  }

  bool clear(const double* q) {
    if (fixedOverlap) return false;
    place(q);
    for (const auto& [a, b] : pairs)
      if (objects[a]->getAABB().overlap(objects[b]->getAABB()) && overlap(a, b)) return false;
    return true;
  }

  double least(const double* q) {
    place(q);
    double known = fixedLeast;
    size_t start = 0;
    for (size_t p = 0; p < pairs.size(); p++) {
      bounds[p] = objects[pairs[p].first]->getAABB().distance(objects[pairs[p].second]->getAABB());
      if (bounds[p] < bounds[start]) start = p;
    }
    if (!pairs.empty()) known = std::min(known, distance(pairs[start].first, pairs[start].second));
    for (size_t p = 0; p < pairs.size(); p++)
      if (p != start && bounds[p] < known) known = std::min(known, distance(pairs[p].first, pairs[p].second));
    return known;
  }
};

static Scene scene;

static State state() {
  State q(scene.joints.size());
  for (double& value : q) value = number();
  return q;
}

static Path path() {
  const int corners = count();
  Path out;
  for (int i = 0; i < corners; i++) out.push_back(state());
  return out;
}

static double apart(const State& a, const State& b) {
  double sum = 0;
  for (size_t i = 0; i < a.size(); i++) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(sum);
}

static void print(const State& q) {
  for (size_t i = 0; i < q.size(); i++) printf("%s%.17g", i == 0 ? "[" : ",", q[i]);
  printf("]");
}

static og::SimpleSetup setUp(double step) {
  const auto space = std::make_shared<ob::RealVectorStateSpace>(scene.joints.size());
  ob::RealVectorBounds box(scene.joints.size());
  for (size_t i = 0; i < scene.joints.size(); i++) {
    box.setLow(i, scene.joints[i].least);
    box.setHigh(i, scene.joints[i].greatest);
  }
  space->setBounds(box);
  og::SimpleSetup setup(space);
  setup.setStateValidityChecker([](const ob::State* s) { return scene.clear(s->as<ob::RealVectorStateSpace::StateType>()->values); });
  setup.getSpaceInformation()->setStateValidityCheckingResolution(step / space->getMaximumExtent());
  return setup;
}

static void plan() {
  const int runs = count();
  const double limit = number(), step = number();
  const State start = state(), goal = state();
  og::SimpleSetup setup = setUp(step);
  const auto space = setup.getStateSpace();
  ob::ScopedState<> from(space), to(space);
  for (size_t i = 0; i < start.size(); i++) { from[i] = start[i]; to[i] = goal[i]; }
  setup.setStartAndGoalStates(from, to);
  setup.setPlanner(std::make_shared<og::RRTConnect>(setup.getSpaceInformation()));
  for (int run = 0; run < runs; run++) {
    setup.clear();
    const bool found = setup.solve(limit) == ob::PlannerStatus::EXACT_SOLUTION;
    const double planning = setup.getLastPlanComputationTime();
    if (found) setup.simplifySolution();
    printf("{\"found\":%s,\"plan_s\":%.9g,\"simplify_s\":%.9g", found ? "true" : "false", planning, found ? setup.getLastSimplificationTime() : 0.0);
    if (found) {
      const og::PathGeometric& route = setup.getSolutionPath();
      printf(",\"length\":%.17g,\"path\":[", route.length());
      for (size_t k = 0; k < route.getStateCount(); k++) {
        std::vector<double> q;
        space->copyToReals(q, route.getState(k));
        if (k > 0) printf(",");
        print(q);
      }
      printf("]");
    }
    printf("}\n");
    fflush(stdout);
  }
}

static void states() {
  const int all = count();
  for (int i = 0; i < all; i++) printf("%s%d", i == 0 ? "[" : ",", scene.clear(state().data()) ? 0 : 1);
  printf("%s]\n", all == 0 ? "[" : "");
}

static void paths() {
  const double step = number();
  const int all = count();
  og::SimpleSetup setup = setUp(step);
  setup.getSpaceInformation()->setup();
  const auto space = setup.getStateSpace();
  const ob::DiscreteMotionValidator validator(setup.getSpaceInformation());
  ob::ScopedState<> from(space), to(space), last(space);
  for (int i = 0; i < all; i++) {
    const Path corners = path();
    bool clear = scene.clear(corners.front().data());
    if (!clear) printf("{\"edge\":0,\"share\":0}\n");
    for (size_t k = 0; clear && k + 1 < corners.size(); k++) {
      for (size_t j = 0; j < corners[k].size(); j++) { from[j] = corners[k][j]; to[j] = corners[k + 1][j]; }
      std::pair<ob::State*, double> lastClear(last.get(), 0);
      clear = validator.checkMotion(from.get(), to.get(), lastClear);
      if (!clear) printf("{\"edge\":%zu,\"share\":%.17g}\n", k, lastClear.second);
    }
    if (clear) printf("null\n");
  }
}

static void least() {
  const double step = number();
  const int all = count();
  for (int i = 0; i < all; i++) {
    const Path corners = path();
    double known = scene.least(corners.front().data()), share = 0;
    size_t edge = 0;
    for (size_t k = 0; k + 1 < corners.size(); k++) {
      const int pieces = std::max(1, static_cast<int>(std::ceil(apart(corners[k], corners[k + 1]) / step)));
      for (int piece = 1; piece <= pieces; piece++) {
        State q = corners[k];
        const double part = static_cast<double>(piece) / pieces;
        for (size_t j = 0; j < q.size(); j++) q[j] += part * (corners[k + 1][j] - q[j]);
        const double here = scene.least(q.data());
        if (here < known) { known = here; edge = k; share = part; }
      }
    }
    printf("{\"least\":%.17g,\"edge\":%zu,\"share\":%.17g}\n", known, edge, share);
  }
}

int main() {
  ompl::msg::noOutputHandler();
  scene.read();
  std::string command;
  while (std::cin >> command) {
    if (command == "seed") ompl::RNG::setSeed(count());
    else if (command == "plan") plan();
    else if (command == "states") states();
    else if (command == "paths") paths();
    else if (command == "least") least();
    else { fprintf(stderr, "no command: %s\n", command.c_str()); return 2; }
  }
}
