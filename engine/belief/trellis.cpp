#include "engine/belief/trellis.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/belief/trellis/bases.hpp"
#include "engine/belief/trellis/plan.hpp"

namespace wheeltapper::belief {
namespace {

/// Digits that signed sums may cost, P(evidence) with its none_weight taken out being the sum: what is lost times the
/// rounding of some hundred products stays below 1e-9.
constexpr double kMostLost = 2e4;
/// What is asked of the estimate first: it takes one cause at a time and mostly fears more than is lost.
constexpr double kMostEstimated = 3e5;
/// A difference of two sums that is smaller than this share of them has lost too much.
constexpr double kLeastDifference = 1e-5;

/// \param scale  receives the product of what was taken out of the likelihoods
std::vector<Reduced> reduce_all(std::span<const FindingNode> nodes, std::size_t causes, double& scale) {
  const auto in_range = [&](std::size_t cause) { return cause < causes; };
  std::vector<Reduced> reduced;
  reduced.reserve(nodes.size());
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    if (!std::ranges::all_of(nodes[i].links, in_range, &FindingNode::Link::cause) ||
        !std::ranges::all_of(nodes[i].blocks, in_range, &FindingNode::Block::cause))
      throw std::domain_error("node " + nodes[i].id + ": names a cause that is not there");
    auto one = reduce(nodes[i], i);
    scale *= one ? one->scale : nodes[i].likelihood[0];
    if (one) reduced.push_back(std::move(*one));
  }
  return reduced;
}

/// Folds the nodes of one state into the causes' weights, and keeps the others.
void fold_single_states(Trellis::Plan& plan) {
  for (const Reduced& each : plan.problem.reduced) {
    if (each.states() > 1) continue;
    plan.problem.scale *= each.start[0] * each.likelihood[0];
    for (const Move& move : each.moves) plan.present[move.cause] *= move.chance[0] * move.passes;
  }
  std::erase_if(plan.problem.reduced, [](const Reduced& each) { return each.states() == 1; });
}

/// Lays the nodes out in the bases that lose at most so much by the estimate.
void lay_out_problem(Trellis::Plan& plan, const TrellisLimits& limits, double most_lost) {
  std::vector<double> odds(plan.prior.size());
  const Alternatives& alternatives = plan.problem.alternatives;
  for (std::size_t i = 0; i < odds.size(); ++i)
    odds[i] = plan.present[i] / std::max(plan.absent[alternatives.first(i)], 1e-6);
  make_ready(plan.problem, odds.size(), choose_bases(plan.problem.reduced, odds, most_lost), limits);
}

/// "Something is wrong" as a node of its own, for where none_weight() can't be taken out without losing digits.
FindingNode something_wrong(std::size_t causes, double none_weight) {
  FindingNode node{.id = "something is wrong", .links = {}, .blocks = {}};
  for (std::size_t i = 0; i < causes; ++i) node.links.push_back({i, Reach{1}});
  node.likelihood = {none_weight, 1};
  return node;
}

void demand_alternatives(std::span<const double> prior, std::span<const std::size_t> instead_of) {
  if (instead_of.size() > prior.size()) throw std::domain_error("more alternatives than causes");
  const std::size_t current = prior.size() - instead_of.size();
  std::vector<double> sum(prior.begin(), prior.begin() + static_cast<std::ptrdiff_t>(current));
  for (std::size_t k = 0; k < instead_of.size(); ++k) {
    if (instead_of[k] >= current) throw std::domain_error("an alternative is to a cause that is not there");
    sum[instead_of[k]] += prior[current + k];
  }
  constexpr double kRounding = 1e-12;
  if (std::ranges::any_of(sum, [](double each) { return each > 1 + kRounding; }))
    throw std::domain_error("the priors of alternatives sum to more than 1");
}

}  // namespace

void Trellis::Plan::solve(std::span<const FindingNode> nodes, const TrellisLimits& limits, double none_weight) {
  present = prior;
  absent.resize(prior.size());
  problem = {};
  problem.alternatives = Alternatives(prior.size(), instead_of);
  absent.assign(prior.size(), 1.0);
  for (std::size_t i = 0; i < prior.size(); ++i) absent[problem.alternatives.first(i)] -= prior[i];
  for (double& each : absent) each = std::max(0.0, each);  // of priors that sum to 1 but for rounding
  scale = 1;
  problem.reduced = reduce_all(nodes, prior.size(), scale);
  fold_single_states(*this);

  const double none = exactly(problem, weights(), {});
  taken_out = (1 - none_weight) * none;
  Passes& passes = Passes::of_thread();
  double total = 0;
  double lost = 0;
  double asked = kMostEstimated;
  do {
    lay_out_problem(*this, limits, asked);
    total = passes.keep(problem, weights(), &lost);
    evidence = total - taken_out;
    if (taken_out > 0 && evidence < kLeastDifference * total && none_weight < 1) {
      std::vector<FindingNode> more(nodes.begin(), nodes.end());
      more.push_back(something_wrong(prior.size(), none_weight));
      solve(more, limits, 1);
      return;
    }
    if (evidence > 0 && lost > 1) lost *= total / evidence;
    asked *= 0.3 * kMostLost / lost;
    if (asked < 10) asked = 0;
  } while (lost > kMostLost);
  if (!(evidence > 0)) throw ImpossibleEvidence("the findings contradict each other: together they have no chance");
  none_present = none_weight * none / evidence;
  posterior.resize(prior.size());
  passes.backward(problem, weights(), total, posterior);
  for (double& p : posterior) p = std::clamp(p / evidence, 0.0, 1.0);
}

Trellis::Trellis(std::span<const double> prior, std::span<const FindingNode> nodes, TrellisLimits limits,
                 double none_weight, std::span<const std::size_t> instead_of)
    : plan_(std::make_unique<Plan>()) {
  for (const double p : prior)
    if (!(p >= 0 && p <= 1)) throw std::domain_error("a prior probability is outside 0 to 1");
  if (!(none_weight >= 0 && none_weight <= 1)) throw std::domain_error("the weight of no cause is outside 0 to 1");
  plan_->prior.assign(prior.begin(), prior.end());
  plan_->observed.assign(nodes.begin(), nodes.end());
  plan_->weight_of_none = none_weight;
  demand_alternatives(prior, instead_of);
  plan_->instead_of.assign(instead_of.begin(), instead_of.end());
  plan_->solve(nodes, limits, none_weight);
  if (instead_of.empty()) return;
  std::vector<double> factor(prior.size(), 0.0);
  std::fill(factor.end() - static_cast<std::ptrdiff_t>(instead_of.size()), factor.end(), 1.0);
  plan_->none_present = share(factor);
}

Trellis::~Trellis() = default;
Trellis::Trellis(Trellis&&) noexcept = default;
Trellis& Trellis::operator=(Trellis&&) noexcept = default;

std::size_t Trellis::causes() const noexcept { return plan_->prior.size(); }
std::size_t Trellis::current() const noexcept { return plan_->prior.size() - plan_->instead_of.size(); }
double Trellis::evidence() const noexcept { return plan_->evidence * plan_->scale; }
std::vector<double> Trellis::posterior() const { return plan_->posterior; }
std::vector<double> Trellis::current_posterior() const {
  return {plan_->posterior.begin(), plan_->posterior.begin() + static_cast<std::ptrdiff_t>(current())};
}
std::size_t Trellis::widest() const noexcept { return plan_->problem.layout.widest; }
std::size_t Trellis::shared_causes() const noexcept {
  const auto& ties = plan_->problem.ties;
  return static_cast<std::size_t>(std::ranges::count_if(ties, [](const auto& each) { return !each.empty(); }));
}
std::size_t Trellis::subtracting() const noexcept {
  return static_cast<std::size_t>(std::ranges::count(plan_->problem.nodes, Basis::at_most, &OpenNode::basis));
}

double Trellis::share(std::span<const double> factor) const { return shares(factor).front(); }

std::vector<double> Trellis::shares(std::span<const double> factors) const {
  const Plan& plan = *plan_;
  Passes& passes = Passes::of_thread();
  const std::size_t n = causes();
  if (n == 0) return {1.0};
  std::vector<double> result(factors.size() / n);
  std::vector<bool> possible(n, false);
  for (std::size_t at = 0; at < factors.size(); ++at)
    if (factors[at] > 0) possible[at % n] = true;
  std::optional<PreparedSum> part;
  const Alternatives& alternatives = plan.problem.alternatives;
  keep_together(alternatives, possible);
  if (std::ranges::find(possible, false) != possible.end()) part = restricted(plan.problem, possible);
  double never = 1;  // chance of the absence of those that no hypothesis allows
  for (std::size_t i = 0; part && i < n; ++i)
    if (!possible[i] && alternatives.is_first(i)) never *= plan.absent[i];
  std::vector<double> present(n);
  for (std::size_t h = 0; h < result.size(); ++h) {
    for (std::size_t i = 0; i < n; ++i) present[i] = plan.present[i] * factors[h * n + i];
    const double total = never * passes.total(part ? *part : plan.problem, {present, plan.absent});
    result[h] = std::max(0.0, total - plan.taken_out) / plan.evidence;
  }
  return result;
}

std::vector<double> Trellis::joint_posteriors(std::span<const double> factors, std::vector<double>& shares_out) const {
  const Plan& plan = *plan_;
  Passes& passes = Passes::of_thread();
  const std::size_t n = causes();
  const std::size_t hypotheses = n == 0 ? 0 : factors.size() / n;
  std::vector<double> result(factors.size());
  shares_out.assign(hypotheses, 1.0);
  std::vector<double> present(n);
  for (std::size_t h = 0; h < hypotheses; ++h) {
    for (std::size_t i = 0; i < n; ++i) present[i] = plan.present[i] * factors[h * n + i];
    const Weights weights{present, plan.absent};
    const std::span<double> joint(&result[h * n], n);
    const double total = passes.keep(plan.problem, weights);
    passes.backward(plan.problem, weights, total, joint);
    shares_out[h] = std::max(0.0, total - plan.taken_out) / plan.evidence;
    for (double& each : joint) each = std::max(0.0, each / plan.evidence);
  }
  return result;
}

double Trellis::none_present() const noexcept { return std::min(1.0, plan_->none_present); }

}  // namespace wheeltapper::belief
