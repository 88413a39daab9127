#include "engine/belief/trellis/prepared_sum.hpp"

#include <algorithm>
#include <iterator>
#include <limits>

namespace wheeltapper::belief {
namespace {

constexpr std::size_t kMostNumbers = kMostNodeStates * kMostNodeStates;

std::vector<std::size_t> count_ties(const PreparedSum& problem, std::size_t causes) {
  std::vector<std::size_t> count(causes, 0);
  for (const Reduced& each : problem.reduced)
    for (const Move& move : each.moves) ++count[move.cause];
  return count;
}

void add_private(PreparedSum& problem, std::size_t node, const Move& move) {
  double numbers[kMostNumbers];
  const std::size_t written = write_move(problem.nodes[node], move, false, numbers);
  problem.privates[node].push_back({move.cause, problem.private_moves.size()});
  problem.private_moves.insert(problem.private_moves.end(), numbers, numbers + written);
}

}  // namespace

void make_ready(PreparedSum& problem, std::size_t causes, std::span<const Basis> bases, const TrellisLimits& limits) {
  const std::vector<std::size_t> count = count_ties(problem, causes);
  const std::size_t nodes = problem.reduced.size();
  problem.nodes.clear();
  problem.nodes.reserve(nodes);
  problem.privates.assign(nodes, {});
  problem.private_moves.clear();
  problem.opens.assign(nodes, false);
  problem.ties.assign(causes, {});
  problem.settled.clear();
  for (std::size_t cause = 0; cause < causes; ++cause) {
    if (count[cause] == 0) problem.settled.push_back(cause);
    if (count[cause] > 1) problem.ties[cause].reserve(count[cause]);
  }
  for (std::size_t s = 0; s < nodes; ++s) {
    const auto& moves = problem.reduced[s].moves;
    problem.opens[s] = std::ranges::any_of(moves, [&](const Move& move) { return count[move.cause] > 1; });
    problem.nodes.push_back(in_basis(problem.reduced[s], problem.opens[s] ? bases[s] : Basis::level));
    for (std::size_t m = 0; m < moves.size(); ++m)
      if (count[moves[m].cause] == 1)
        add_private(problem, s, moves[m]);
      else
        problem.ties[moves[m].cause].push_back({static_cast<std::uint32_t>(s), static_cast<std::uint32_t>(m)});
  }
  problem.layout = lay_out(problem.nodes, problem.ties, limits);
}

std::optional<PreparedSum> restricted(const PreparedSum& problem, const std::vector<bool>& keep) {
  PreparedSum part;
  part.scale = problem.scale;
  std::vector<Basis> bases;
  for (std::size_t s = 0; s < problem.reduced.size(); ++s) {
    const Reduced& whole = problem.reduced[s];
    Reduced each{.node = whole.node,
                 .levels = whole.levels,
                 .may_block = whole.may_block,
                 .start = whole.start,
                 .likelihood = whole.likelihood,
                 .moves = {}};
    std::ranges::copy_if(whole.moves, std::back_inserter(each.moves), [&](const Move& m) { return keep[m.cause]; });
    part.reduced.push_back(std::move(each));
    bases.push_back(problem.nodes[s].basis);
  }
  try {
    make_ready(part, keep.size(), bases, {problem.layout.widest, std::numeric_limits<std::size_t>::max()});
  } catch (const FrontierTooWide&) {  // the order of its causes came out worse
    return std::nullopt;
  }
  std::erase_if(part.settled, [&](std::size_t cause) { return !keep[cause]; });
  return part;
}

double exactly(const PreparedSum& problem, const Weights& weights, std::span<const std::size_t> present) {
  double value = problem.scale;
  std::size_t next = 0;
  for (std::size_t cause = 0; cause < weights.absent.size(); ++cause) {
    const bool here = next < present.size() && present[next] == cause;
    value *= here ? weights.present[cause] : weights.absent[cause];
    if (here) ++next;
  }
  for (const Reduced& each : problem.reduced) {
    const OpenNode node = in_basis(each, Basis::level);
    const std::size_t n = each.states();
    StateVector state = each.start;
    for (const Move& move : each.moves) {
      if (!std::ranges::binary_search(present, move.cause)) continue;
      double matrix[kMostNumbers];
      write_move(node, move, false, matrix);
      StateVector moved{};
      for (std::size_t to = 0; to < n; ++to)
        for (std::size_t from = 0; from <= to; ++from) moved[to] += matrix[to * n + from] * state[from];
      state = moved;
    }
    double seen = 0;
    for (std::size_t k = 0; k < n; ++k) seen += state[k] * each.likelihood[k];
    value *= seen;
  }
  return value;
}

}  // namespace wheeltapper::belief
