#include "engine/plan/order.hpp"

#include <algorithm>
#include <stdexcept>

namespace wheeltapper::plan {
namespace {

void demand(double minutes, double chance) {
  if (!(minutes > 0) || !(chance >= 0 && chance <= 1))
    throw std::domain_error("an action needs minutes above 0 and a chance from 0 to 1");
}

std::vector<std::size_t> falling(const std::vector<double>& ratio) {
  std::vector<std::size_t> order(ratio.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order, std::greater<>(), [&](std::size_t i) { return ratio[i]; });
  return order;
}

}  // namespace

double expected_minutes(std::span<const RepairChance> repairs, std::span<const std::size_t> order) {
  double left = 1;
  double sum = 0;
  for (const std::size_t i : order) {
    sum += left * repairs[i].minutes;
    left -= repairs[i].chance;
  }
  return sum;
}

std::vector<std::size_t> order_by_chance_per_minute(std::span<const RepairChance> repairs) {
  std::vector<double> ratio;
  for (const RepairChance& each : repairs) {
    demand(each.minutes, each.chance);
    ratio.push_back(each.chance / each.minutes);
  }
  return falling(ratio);
}

double expected_minutes(std::span<const Inspection> inspections, std::span<const std::size_t> order) {
  double left = 1;
  double sum = 0;
  for (const std::size_t i : order) {
    sum += left * inspections[i].look + inspections[i].chance * inspections[i].repair;
    left -= inspections[i].chance;
  }
  return sum;
}

std::vector<std::size_t> order_by_chance_per_look(std::span<const Inspection> inspections) {
  std::vector<double> ratio;
  for (const Inspection& each : inspections) {
    demand(each.look, each.chance);
    ratio.push_back(each.chance / each.look);
  }
  return falling(ratio);
}

double expected_least(std::span<const double> chance, const std::vector<std::vector<double>>& cost) {
  if (chance.size() != cost.size()) throw std::domain_error("one row of costs an outcome");
  double sum = 0;
  for (std::size_t o = 0; o < chance.size(); ++o) {
    if (cost[o].empty()) throw std::domain_error("an outcome without a plan");
    sum += chance[o] * *std::ranges::min_element(cost[o]);
  }
  return sum;
}

}  // namespace wheeltapper::plan
