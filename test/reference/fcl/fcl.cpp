// Distances and overlaps of pairs of bodies by FCL.
//
// Standard input, all float64: number of shapes; each shape: kind (0 sphere: r; 1 capsule: r, length; 2 box: x, y, z;
// 3 cylinder: r, length; 4 convex, 5 mesh: points n, triangles m, 3n coordinates, 3m indices); number of pairs; each pair:
// shape a, shape b, pose of a (12, row-major 3 x 4), pose of b.
// Standard output, float64 for each pair: distance with the tolerance 1e-10, 1 or 0 whether collide() finds contact.
#include <cstdio>
#include <memory>
#include <vector>
#include <fcl/fcl.h>

using Geometry = std::shared_ptr<fcl::CollisionGeometryd>;

static double number() {
  double value;
  if (fread(&value, sizeof value, 1, stdin) != 1) exit(2);
  return value;
}

static Geometry shape() {
  const int kind = static_cast<int>(number());
  if (kind == 0) return std::make_shared<fcl::Sphered>(number());
  if (kind == 1) { const double r = number(), length = number(); return std::make_shared<fcl::Capsuled>(r, length); }
  if (kind == 2) { const double x = number(), y = number(), z = number(); return std::make_shared<fcl::Boxd>(x, y, z); }
  if (kind == 3) { const double r = number(), length = number(); return std::make_shared<fcl::Cylinderd>(r, length); }
  const int points = static_cast<int>(number()), triangles = static_cast<int>(number());
  auto vertices = std::make_shared<std::vector<fcl::Vector3d>>();
  for (int i = 0; i < points; i++) { const double x = number(), y = number(), z = number(); vertices->push_back({x, y, z}); }
  if (kind == 4) {
    auto faces = std::make_shared<std::vector<int>>();
    for (int i = 0; i < triangles; i++) {
      faces->push_back(3);
      for (int k = 0; k < 3; k++) faces->push_back(static_cast<int>(number()));
    }
    return std::make_shared<fcl::Convexd>(vertices, triangles, faces, true);
  }
  std::vector<fcl::Triangle> list;
  for (int i = 0; i < triangles; i++) {
    const auto a = static_cast<size_t>(number()), b = static_cast<size_t>(number()), c = static_cast<size_t>(number());
    list.emplace_back(a, b, c);
  }
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

int main() {
  std::vector<Geometry> shapes;
  const int count = static_cast<int>(number());
  for (int i = 0; i < count; i++) {
    shapes.push_back(shape());
    shapes.back()->computeLocalAABB();
  }
  const int pairs = static_cast<int>(number());
  fcl::DistanceRequestd ask;
  ask.distance_tolerance = 1e-10;
  fcl::CollisionRequestd touch;
  for (int i = 0; i < pairs; i++) {
    const int a = static_cast<int>(number()), b = static_cast<int>(number());
    const fcl::Transform3d placeA = pose(), placeB = pose();
    fcl::DistanceResultd far;
    fcl::CollisionResultd near;
    fcl::collide(shapes[a].get(), placeA, shapes[b].get(), placeB, touch, near);
    double answer[2] = {-1, near.isCollision() ? 1.0 : 0.0};
    if (!near.isCollision()) answer[0] = fcl::distance(shapes[a].get(), placeA, shapes[b].get(), placeB, ask, far);
    fwrite(answer, sizeof(double), 2, stdout);
  }
}
