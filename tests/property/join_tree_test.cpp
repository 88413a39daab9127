// The peer is dlib 19.24, a general-purpose library with exact inference on join trees.
#include "tests/support/join_tree.hpp"

#include <catch2/catch.hpp>

#include "engine/belief/trellis.hpp"
#include "tests/support/random_network.hpp"

using namespace wheeltapper;

TEST_CASE("the posterior equals a general exact library's on 60 random networks", "[belief][peer]") {
  const std::uint32_t seed = GENERATE(range(0U, 60U));
  CAPTURE(seed);
  const tests::RandomShape shape{.causes = 4 + seed % 11, .nodes = 3 + seed % 6, .most_links = 5, .most_top = 3};
  const auto problem = tests::random_problem(seed, shape);
  const auto ours = belief::Trellis(problem.prior, problem.nodes).posterior();
  const auto theirs = tests::JoinTree(problem.prior, problem.nodes).posterior();
  const auto plain = tests::enumerate(problem.prior, problem.nodes);
  for (std::size_t i = 0; i < ours.size(); ++i) {
    CAPTURE(i);
    CHECK(ours[i] == Approx(theirs[i]).margin(1e-9).epsilon(0));
    CHECK(ours[i] == Approx(plain.posterior[i]).margin(1e-9).epsilon(0));
  }
}
