// One inverse-kinematics solution per pose with KDL's ChainIkSolverPos_LMA, from a seed given with the pose.
//
// Input:  "arm n", n lines "a alpha d theta" (standard DH), "poses m", m lines of 12 pose numbers (row-major 3 x 4) and
//         n seed values.
// Output: one line: median microseconds per solve, mean microseconds per solve, poses that KDL reports as met.
#include <algorithm>
#include <chrono>
#include <iostream>
#include <kdl/chain.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainiksolverpos_lma.hpp>
#include <string>
#include <vector>

int main() {
  std::string word;
  unsigned n = 0, m = 0;
  std::cin >> word >> n;
  KDL::Chain chain;
  for (unsigned i = 0; i < n; i++) {
    double a, alpha, d, theta;
    std::cin >> a >> alpha >> d >> theta;
    chain.addSegment(KDL::Segment(KDL::Joint(KDL::Joint::RotZ), KDL::Frame::DH(a, alpha, d, theta)));
  }
  std::cin >> word >> m;
  std::vector<KDL::Frame> goals(m);
  std::vector<KDL::JntArray> seeds(m, KDL::JntArray(n));
  for (unsigned i = 0; i < m; i++) {
    double t[12];
    for (double& x : t) std::cin >> x;
    goals[i] = KDL::Frame(KDL::Rotation(t[0], t[1], t[2], t[4], t[5], t[6], t[8], t[9], t[10]),
                          KDL::Vector(t[3], t[7], t[11]));
    for (unsigned k = 0; k < n; k++) std::cin >> seeds[i](k);
  }
  if (!std::cin) return 2;

  KDL::ChainIkSolverPos_LMA solver(chain);
  KDL::ChainFkSolverPos_recursive forward(chain);
  std::vector<double> micros(m);
  KDL::JntArray q(n);
  KDL::Frame reached;
  unsigned solved = 0;
  double total = 0;
  for (unsigned i = 0; i < m; i++) {
    const auto start = std::chrono::steady_clock::now();
    const int status = solver.CartToJnt(seeds[i], goals[i], q);
    micros[i] = std::chrono::duration<double, std::micro>(std::chrono::steady_clock::now() - start).count();
    total += micros[i];
    // KDL's own verdict, at its default precision (1e-5 m, and a hundred times that in rad).
    forward.JntToCart(q, reached);
    const KDL::Twist miss = KDL::diff(reached, goals[i]);
    if (status >= 0 && miss.vel.Norm() < 1e-4 && miss.rot.Norm() < 1e-2) solved++;
  }
  std::nth_element(micros.begin(), micros.begin() + m / 2, micros.end());
  std::cout << micros[m / 2] << " " << total / m << " " << solved << "\n";
}
