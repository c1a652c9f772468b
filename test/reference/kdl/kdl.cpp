// Answers of the KDL library for arms and states read from standard input, as text.
//
//   arm N                        then N lines, one per joint:
//     r|p  P(12)  axis(3)  motorInertia  mass  centre(3)  tensor(6: xx yy zz xy xz yz)
//                                then one line: flange(12)
//   joints N                     then N lines, one per joint of any kind, with the raw numbers of a URDF file:
//     r|p|f  xyz(3) rpy(3)  axis(3)  mass  inertial xyz(3) rpy(3)  tensor(6)      link data in the link's inertial frame
//   state q(N) qd(N) qdd(N) gravity(3)
//
// P is the joint's frame in the frame of the joint before (row-major 3 x 4), axis and link data are in the joint's own
// frame, flange is in the last joint's frame. For each state one line is printed:
//   pose(12)  jacobian(6 N, row-major)  jacobian rate times qd(6)  torque(N)  inertia matrix(N N)
#include <kdl/chain.hpp>
#include <kdl/chaindynparam.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainidsolver_recursive_newton_euler.hpp>
#include <kdl/chainjnttojacdotsolver.hpp>
#include <kdl/chainjnttojacsolver.hpp>

#include <cstdio>
#include <iostream>
#include <memory>
#include <string>

using namespace KDL;

static double number() {
  double value;
  if (!(std::cin >> value)) {
    std::fprintf(stderr, "a number is missing\n");
    std::exit(2);
  }
  return value;
}

static Frame frame() {
  double m[12];
  for (double& x : m) x = number();
  return Frame(Rotation(m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]), Vector(m[3], m[7], m[11]));
}

static Vector vec() {
  double x = number(), y = number(), z = number();
  return Vector(x, y, z);
}

// Position and roll, pitch, yaw about fixed axes.
static Frame origin() {
  const Vector xyz = vec();
  const double roll = number(), pitch = number(), yaw = number();
  return Frame(Rotation::RPY(roll, pitch, yaw), xyz);
}

static RotationalInertia tensor() {
  double t[6];
  for (double& x : t) x = number();
  return RotationalInertia(t[0], t[1], t[2], t[3], t[4], t[5]);
}

static void check(int status, const char* what) {
  if (status < 0) {
    std::fprintf(stderr, "%s failed with %d\n", what, status);
    std::exit(2);
  }
}

int main() {
  Chain chain;
  std::string word;
  while (std::cin >> word) {
    if (word == "arm") {
      chain = Chain();
      const int n = static_cast<int>(number());
      for (int i = 0; i < n; i++) {
        std::string kind;
        std::cin >> kind;
        const Frame tip = frame();
        const Vector axis = tip.M * vec();
        const double motor = number(), mass = number();
        const Vector centre = vec();
        const RotationalInertia about = tensor();
        const Joint joint(tip.p, axis, kind == "p" ? Joint::TransAxis : Joint::RotAxis, 1, 0, motor);
        chain.addSegment(Segment(joint, tip, RigidBodyInertia(mass, centre, about)));
      }
      chain.addSegment(Segment(Joint(Joint::Fixed), frame()));
      continue;
    }
    if (word == "joints") {
      chain = Chain();
      const int count = static_cast<int>(number());
      for (int i = 0; i < count; i++) {
        std::string kind;
        std::cin >> kind;
        const Frame tip = origin();
        const Vector axis = tip.M * vec();
        const double mass = number();
        const Frame inertial = origin();
        const RigidBodyInertia body = inertial * RigidBodyInertia(mass, Vector::Zero(), tensor());
        const Joint joint = kind == "f" ? Joint(Joint::Fixed) : Joint(tip.p, axis, kind == "p" ? Joint::TransAxis : Joint::RotAxis);
        chain.addSegment(Segment(joint, tip, body));
      }
      continue;
    }
    if (word != "state") {
      std::fprintf(stderr, "unknown word %s\n", word.c_str());
      return 2;
    }
    const unsigned n = chain.getNrOfJoints();
    JntArray q(n), qd(n), qdd(n), torque(n);
    for (unsigned i = 0; i < n; i++) q(i) = number();
    for (unsigned i = 0; i < n; i++) qd(i) = number();
    for (unsigned i = 0; i < n; i++) qdd(i) = number();
    const Vector gravity = vec();

    Frame pose;
    check(ChainFkSolverPos_recursive(chain).JntToCart(q, pose), "forward kinematics");
    Jacobian jacobian(n);
    check(ChainJntToJacSolver(chain).JntToJac(q, jacobian), "Jacobian");
    Twist rate;
    check(ChainJntToJacDotSolver(chain).JntToJacDot(JntArrayVel(q, qd), rate), "Jacobian rate");
    check(ChainIdSolver_RNE(chain, gravity).CartToJnt(q, qd, qdd, Wrenches(chain.getNrOfSegments()), torque), "inverse dynamics");
    JntSpaceInertiaMatrix inertia(n);
    check(ChainDynParam(chain, gravity).JntToMass(q, inertia), "inertia matrix");

    for (int r = 0; r < 3; r++) std::printf("%.17g %.17g %.17g %.17g ", pose.M(r, 0), pose.M(r, 1), pose.M(r, 2), pose.p(r));
    for (unsigned r = 0; r < 6; r++)
      for (unsigned i = 0; i < n; i++) std::printf("%.17g ", jacobian(r, i));
    for (int r = 0; r < 6; r++) std::printf("%.17g ", rate(r));
    for (unsigned i = 0; i < n; i++) std::printf("%.17g ", torque(i));
    for (unsigned i = 0; i < n; i++)
      for (unsigned k = 0; k < n; k++) std::printf("%.17g ", inertia(i, k));
    std::printf("\n");
  }
  return 0;
}
