// Times of the KDL library for arms and states read from standard input.
//
//   arm N                 then N lines: a alpha d theta mass centre(3) tensor(6: xx yy zz xy xz yz)   standard DH, link data in
//                         the DH frame of the row: KDL's cheapest form, one RotZ segment per joint and no other
//   states COUNT          then COUNT lines: q(N) qd(N) qdd(N)
//   time ROUNDS           prints one line: microseconds per call of forward kinematics, Jacobian, inverse dynamics
//                         (the fastest of ROUNDS passes over all states)
#include <kdl/chain.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainidsolver_recursive_newton_euler.hpp>
#include <kdl/chainjnttojacsolver.hpp>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <iostream>
#include <string>
#include <vector>

using namespace KDL;

static double number() {
  double value;
  if (!(std::cin >> value)) {
    std::fprintf(stderr, "a number is missing\n");
    std::exit(2);
  }
  return value;
}

template <class Work>
static double fastest(int rounds, std::size_t count, Work work) {
  double best = 1e300;
  for (int r = 0; r < rounds; r++) {
    const auto start = std::chrono::steady_clock::now();
    for (std::size_t i = 0; i < count; i++) work(i);
    const std::chrono::duration<double, std::micro> spent = std::chrono::steady_clock::now() - start;
    best = std::min(best, spent.count() / static_cast<double>(count));
  }
  return best;
}

int main() {
  Chain chain;
  std::vector<JntArray> q, qd, qdd;
  std::string word;
  volatile double sink = 0;
  while (std::cin >> word) {
    const unsigned n = chain.getNrOfJoints();
    if (word == "arm") {
      chain = Chain();
      const int joints = static_cast<int>(number());
      for (int i = 0; i < joints; i++) {
        const double a = number(), alpha = number(), d = number(), theta = number(), mass = number();
        const double x = number(), y = number(), z = number();
        double t[6];
        for (double& v : t) v = number();
        const RigidBodyInertia body(mass, Vector(x, y, z), RotationalInertia(t[0], t[1], t[2], t[3], t[4], t[5]));
        chain.addSegment(Segment(Joint(Joint::RotZ), Frame::DH(a, alpha, d, theta), body));
      }
    } else if (word == "states") {
      const int count = static_cast<int>(number());
      q.assign(count, JntArray(n));
      qd.assign(count, JntArray(n));
      qdd.assign(count, JntArray(n));
      for (int s = 0; s < count; s++) {
        for (auto* list : {&q, &qd, &qdd})
          for (unsigned i = 0; i < n; i++) (*list)[s](i) = number();
      }
    } else if (word == "time") {
      const int rounds = static_cast<int>(number());
      ChainFkSolverPos_recursive forward(chain);
      ChainJntToJacSolver jacobian(chain);
      ChainIdSolver_RNE dynamics(chain, Vector(0, 0, -9.81));
      const Wrenches none(chain.getNrOfSegments());
      Frame pose;
      Jacobian j(n);
      JntArray torque(n);
      const double fk = fastest(rounds, q.size(), [&](std::size_t i) {
        forward.JntToCart(q[i], pose);
        sink = sink + pose.p.x();
      });
      const double jac = fastest(rounds, q.size(), [&](std::size_t i) {
        jacobian.JntToJac(q[i], j);
        sink = sink + j(0, 0);
      });
      const double id = fastest(rounds, q.size(), [&](std::size_t i) {
        dynamics.CartToJnt(q[i], qd[i], qdd[i], none, torque);
        sink = sink + torque(0);
      });
      std::printf("%.9g %.9g %.9g\n", fk, jac, id);
    } else {
      std::fprintf(stderr, "unknown word %s\n", word.c_str());
      return 2;
    }
  }
  return 0;
}
