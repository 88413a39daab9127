// Published rules and numbers of decision-theoretic troubleshooting (D1 to D4). No source prints a worked
// table for D1 to D3: the inputs are examples, every order enumerated, and the sources give the rule. The oil
// wildcatter (D4) is printed.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/next_step.hpp"
#include "engine/plan/order.hpp"
#include "engine/plan/screening.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using wheeltapper::plan::expected_least;
using wheeltapper::plan::expected_minutes;
using wheeltapper::plan::Inspection;
using wheeltapper::plan::order_by_chance_per_look;
using wheeltapper::plan::order_by_chance_per_minute;
using wheeltapper::plan::RepairChance;
using Order = std::vector<std::size_t>;

constexpr double kPlanDigits = 1e-12;

/// "BDAC" to the indices 1, 3, 0, 2.
Order order(std::string_view letters) {
  Order result;
  for (const char letter : letters) result.push_back(static_cast<std::size_t>(letter - 'A'));
  return result;
}

std::string letters(const Order& of) {
  std::string result;
  for (const std::size_t i : of) result += static_cast<char>('A' + static_cast<int>(i));
  return result;
}

struct Costed {
  double minutes;
  std::string order;
};

/// All orders of n actions, the cheapest first.
template <typename Action>
std::vector<Costed> all_orders(const std::vector<Action>& actions) {
  Order each;
  for (std::size_t i = 0; i < actions.size(); ++i) each.push_back(i);
  std::vector<Costed> all;
  do all.push_back({expected_minutes(actions, each), letters(each)});
  while (std::next_permutation(each.begin(), each.end()));
  std::sort(all.begin(), all.end(), [](const Costed& a, const Costed& b) { return a.minutes < b.minutes; });
  return all;
}

// --- D1. Kadane and Simon, SIAM J. Control Optim. 15 (1977); Heckerman, Breese and Rommelse, CACM 38(3),
// 1995, 49-57 --

const std::vector<RepairChance> kFour{{10, 0.45}, {2, 0.30}, {5, 0.20}, {1, 0.05}};

TEST_CASE("D1 repair sequence: the order by chance per minute is the cheapest of all 24", "[published][plan]") {
  const auto all = all_orders(kFour);
  REQUIRE(all.size() == 24);
  CHECK(letters(order_by_chance_per_minute(kFour)) == "BDAC");
  CHECK(all[0].order == "BDAC");
  CHECK_THAT(all[0].minutes, WithinAbs(10.2, kPlanDigits));
}

TEST_CASE("D1 repair sequence: the next best orders and the worst", "[published][plan]") {
  const auto all = all_orders(kFour);
  CHECK(all[1].order == "BADC");
  CHECK_THAT(all[1].minutes, WithinAbs(10.25, kPlanDigits));
  CHECK(all[2].order == "BACD");
  CHECK_THAT(all[2].minutes, WithinAbs(10.3, kPlanDigits));
  CHECK(all[3].order == "DBAC");
  CHECK_THAT(all[3].minutes, WithinAbs(10.4, kPlanDigits));
  CHECK(all.back().order == "CADB");
  CHECK_THAT(all.back().minutes, WithinAbs(13.95, kPlanDigits));
}

TEST_CASE("D1 repair sequence: by the planner's belief of one cause at a time", "[published][plan]") {
  std::vector<wheeltapper::plan::RepairOption> repairs;
  wheeltapper::plan::OneCause belief;
  for (std::size_t i = 0; i < kFour.size(); ++i) {
    repairs.push_back({std::string(1, static_cast<char>('A' + static_cast<int>(i))), kFour[i].minutes, {{i, 1.0}}});
    belief.push_back(kFour[i].chance);
  }
  const auto sequence = wheeltapper::plan::rough_sequence(belief, repairs, {});
  CHECK(letters(sequence.repairs) == "BDAC");
  CHECK_THAT(sequence.cost, WithinAbs(10.2, kPlanDigits));
  CHECK_THAT(sequence.failing_after, WithinAbs(0, kPlanDigits));
}

// --- D2. Statement after Ross, A First Course in Probability; inputs chosen
// ------------------------------------------

constexpr double kFirst = 0.6;  // chance that it is the first part
const std::vector<Inspection> kTwo{{10, 50, kFirst}, {5, 80, 1 - kFirst}};

TEST_CASE("D2 two-cause machine: cost of either order", "[published][plan]") {
  CHECK_THAT(expected_minutes(kTwo, order("AB")), WithinAbs(74, kPlanDigits));
  CHECK_THAT(expected_minutes(kTwo, order("BA")), WithinAbs(73, kPlanDigits));
  CHECK(letters(order_by_chance_per_look(kTwo)) == "BA");
}

TEST_CASE("D2 two-cause machine: the costs as the problem writes them", "[published][plan]") {
  const double c1 = kTwo[0].look;
  const double r1 = kTwo[0].repair;
  const double c2 = kTwo[1].look;
  const double r2 = kTwo[1].repair;
  CHECK_THAT(expected_minutes(kTwo, order("AB")),
             WithinAbs(kFirst * (c1 + r1) + (1 - kFirst) * (c1 + c2 + r2), kPlanDigits));
  CHECK_THAT(expected_minutes(kTwo, order("BA")),
             WithinAbs((1 - kFirst) * (c2 + r2) + kFirst * (c2 + c1 + r1), kPlanDigits));
}

TEST_CASE("D2 two-cause machine: the repairs' minutes drop out", "[published][plan]") {
  for (const double repair : {0.0, 1.0, 1000.0}) {
    CAPTURE(repair);
    std::vector<Inspection> other = kTwo;
    other[1].repair = repair;
    CHECK(letters(order_by_chance_per_look(other)) == "BA");
    CHECK_THAT(expected_minutes(other, order("AB")) - expected_minutes(other, order("BA")), WithinAbs(1, 1e-10));
  }
}

// --- D3. Heckerman, Breese and Rommelse 1995, expected cost of repair (the equation from memory); inputs
// chosen -------

const std::vector<Inspection> kThree{{8, 20, 0.45}, {2, 5, 0.30}, {4, 1, 0.25}};

TEST_CASE("D3 look, then repair: all six orders", "[published][plan]") {
  CHECK_THAT(expected_minutes(kThree, order("BCA")), WithinAbs(19.15, kPlanDigits));
  CHECK_THAT(expected_minutes(kThree, order("BAC")), WithinAbs(19.35, kPlanDigits));
  CHECK_THAT(expected_minutes(kThree, order("CBA")), WithinAbs(19.85, kPlanDigits));
  CHECK_THAT(expected_minutes(kThree, order("ABC")), WithinAbs(20.85, kPlanDigits));
  CHECK_THAT(expected_minutes(kThree, order("CAB")), WithinAbs(21.35, kPlanDigits));
  CHECK_THAT(expected_minutes(kThree, order("ACB")), WithinAbs(21.55, kPlanDigits));
}

TEST_CASE("D3 look, then repair: the order by chance per look is the cheapest", "[published][plan]") {
  const auto all = all_orders(kThree);
  REQUIRE(all.size() == 6);
  CHECK(letters(order_by_chance_per_look(kThree)) == "BCA");
  CHECK(all[0].order == "BCA");
}

TEST_CASE("D3 look, then repair: by chance per minute of both it would be worse", "[published][plan]") {
  // The trap: dividing by look and repair together picks CBA, which is not the cheapest.
  std::vector<RepairChance> whole;
  for (const Inspection& each : kThree) whole.push_back({each.look + each.repair, each.chance});
  const Order trapped = order_by_chance_per_minute(whole);
  CHECK(letters(trapped) == "CBA");
  CHECK(expected_minutes(kThree, trapped) > expected_minutes(kThree, order_by_chance_per_look(kThree)));
}

// --- D4. Raiffa, Decision Analysis, 1968; retold in Shenoy, Operations Research 40(3), 1992, 463-484.
// Printed: the strategy, 22 500, the costs and the nets. Prior and table of the soundings from memory; they
// reproduce 22 500. --------

constexpr std::array<double, 3> kState{0.5, 0.3, 0.2};  // dry, wet, soaking
constexpr std::array<double, 3> kDrillNet{-70000, 50000, 200000};
constexpr std::array<std::array<double, 3>, 3> kStructure{// given the state: none, open, closed
                                                          {{0.6, 0.3, 0.1}, {0.3, 0.4, 0.3}, {0.1, 0.4, 0.5}}};
constexpr double kSoundings = 10000;

double chance_of_result(std::size_t result) {
  double sum = 0;
  for (std::size_t s = 0; s < 3; ++s) sum += kState[s] * kStructure[s][result];
  return sum;
}

double state_given_result(std::size_t state, std::size_t result) {
  return kState[state] * kStructure[state][result] / chance_of_result(result);
}

double drill_value(std::size_t result) {
  double sum = 0;
  for (std::size_t s = 0; s < 3; ++s) sum += state_given_result(s, result) * kDrillNet[s];
  return sum;
}

/// What is gained with the best plan after each outcome: drill, or leave it.
double gain(const std::vector<double>& chance, const std::vector<double>& drill) {
  std::vector<std::vector<double>> cost;
  for (const double value : drill) cost.push_back({-value, 0.0});
  return -expected_least(chance, cost);
}

double drill_now() {
  const double emv = kState[0] * kDrillNet[0] + kState[1] * kDrillNet[1] + kState[2] * kDrillNet[2];
  return gain({1.0}, {emv});
}

double after_soundings() {
  return gain({chance_of_result(0), chance_of_result(1), chance_of_result(2)},
              {drill_value(0), drill_value(1), drill_value(2)});
}

TEST_CASE("D4 oil wildcatter: chances of the soundings' results", "[published][plan]") {
  CHECK_THAT(chance_of_result(0), WithinAbs(0.41, kPlanDigits));
  CHECK_THAT(chance_of_result(1), WithinAbs(0.35, kPlanDigits));
  CHECK_THAT(chance_of_result(2), WithinAbs(0.24, kPlanDigits));
}

TEST_CASE("D4 oil wildcatter: what drilling is worth given each result", "[published][plan]") {
  CHECK_THAT(drill_value(0), WithinRel(-30487.80487804878, 1e-9));
  CHECK_THAT(drill_value(1), WithinRel(32857.142857142855, 1e-9));
  CHECK_THAT(drill_value(2), WithinRel(87500.0, 1e-9));
}

TEST_CASE("D4 oil wildcatter: posterior of a soaking hole", "[published][plan]") {
  CHECK_THAT(state_given_result(2, 0), WithinAbs(0.0487804878, 0.5e-10));
  CHECK_THAT(state_given_result(2, 1), WithinAbs(0.2285714286, 0.5e-10));
  CHECK_THAT(state_given_result(2, 2), WithinAbs(0.4166666667, 0.5e-10));
}

TEST_CASE("D4 oil wildcatter: drill at once", "[published][plan]") {
  CHECK_THAT(drill_now(), WithinRel(20000.0, 1e-9));
}

TEST_CASE("D4 oil wildcatter: sound first, then drill on an open or closed structure", "[published][plan]") {
  CHECK_THAT(after_soundings(), WithinRel(32500.0, 1e-9));
  CHECK_THAT(after_soundings() - kSoundings, WithinRel(22500.0, 1e-9));  // printed
  CHECK_THAT(after_soundings() - drill_now(), WithinRel(12500.0, 1e-9));
  CHECK(drill_value(0) < 0);
  CHECK(drill_value(1) > 0);
  CHECK(drill_value(2) > 0);
}

TEST_CASE("D4 oil wildcatter: perfect information", "[published][plan]") {
  const double known = gain({kState.begin(), kState.end()}, {kDrillNet.begin(), kDrillNet.end()});
  CHECK_THAT(known, WithinRel(55000.0, 1e-9));
  CHECK_THAT(known - drill_now(), WithinRel(35000.0, 1e-9));
}

}  // namespace
