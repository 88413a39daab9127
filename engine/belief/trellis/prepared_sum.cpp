#include "engine/belief/trellis/prepared_sum.hpp"

#include <algorithm>
#include <iterator>
#include <limits>

namespace wheeltapper::belief {
namespace {

constexpr std::size_t kMostNumbers = kMostNodeStates * kMostNodeStates;

/// Nodes that a cause or one of its alternatives is tied to, by the first of them.
std::vector<std::size_t> count_ties(const PreparedSum& problem, std::size_t causes) {
  std::vector<std::size_t> count(causes, 0);
  std::vector<std::size_t> last(causes, problem.reduced.size());
  for (std::size_t s = 0; s < problem.reduced.size(); ++s)
    for (const Move& move : problem.reduced[s].moves) {
      const std::size_t first = problem.alternatives.first(move.cause);
      if (last[first] != s) ++count[first];
      last[first] = s;
    }
  return count;
}

/// A cause of one node alone with all its alternatives, those that do nothing to the node among them.
void add_private(PreparedSum& problem, std::size_t node, std::size_t first) {
  const auto& moves = problem.reduced[node].moves;
  for (std::size_t cause = first; cause != Alternatives::kNone; cause = problem.alternatives.next(cause)) {
    const auto move = std::ranges::find(moves, cause, &Move::cause);
    if (move == moves.end()) {
      problem.privates[node].push_back({cause, Private::kStays, cause != first});
      continue;
    }
    double numbers[kMostNumbers];
    const std::size_t written = write_move(problem.nodes[node], *move, false, numbers);
    problem.privates[node].push_back({cause, problem.private_moves.size(), cause != first});
    problem.private_moves.insert(problem.private_moves.end(), numbers, numbers + written);
  }
}

}  // namespace

Alternatives::Alternatives(std::size_t causes, std::span<const std::size_t> instead_of) {
  if (instead_of.empty()) return;
  const std::size_t plain = causes - instead_of.size();
  next_.assign(causes, kNone);
  for (std::size_t cause = 0; cause < causes; ++cause) first_.push_back(cause);
  for (std::size_t k = instead_of.size(); k-- > 0;) {  // backwards, so that each group runs upwards
    first_[plain + k] = instead_of[k];
    next_[plain + k] = next_[instead_of[k]];
    next_[instead_of[k]] = plain + k;
  }
}

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
  const auto ties_of = [&](const Move& move) { return count[problem.alternatives.first(move.cause)]; };
  for (std::size_t cause = 0; cause < causes; ++cause) {
    if (!problem.alternatives.is_first(cause)) continue;
    if (count[cause] == 0) problem.settled.push_back(cause);
    if (count[cause] > 1) problem.ties[cause].reserve(count[cause]);
  }
  std::vector<bool> added(causes, false);
  for (std::size_t s = 0; s < nodes; ++s) {
    const auto& moves = problem.reduced[s].moves;
    problem.opens[s] = std::ranges::any_of(moves, [&](const Move& move) { return ties_of(move) > 1; });
    problem.nodes.push_back(in_basis(problem.reduced[s], problem.opens[s] ? bases[s] : Basis::level));
    for (std::size_t m = 0; m < moves.size(); ++m) {
      const std::size_t first = problem.alternatives.first(moves[m].cause);
      if (ties_of(moves[m]) > 1)
        problem.ties[moves[m].cause].push_back({static_cast<std::uint32_t>(s), static_cast<std::uint32_t>(m)});
      else if (!added[first])
        add_private(problem, s, first);
      added[first] = true;
    }
  }
  problem.layout = lay_out(problem.nodes, problem.ties, problem.alternatives, limits);
}

void keep_together(const Alternatives& alternatives, std::vector<bool>& keep) {
  for (std::size_t cause = 0; cause < keep.size(); ++cause)
    if (keep[cause]) keep[alternatives.first(cause)] = true;
  for (std::size_t cause = 0; cause < keep.size(); ++cause)
    if (keep[alternatives.first(cause)]) keep[cause] = true;
}

std::optional<PreparedSum> restricted(const PreparedSum& problem, std::vector<bool> keep) {
  PreparedSum part;
  part.alternatives = problem.alternatives;
  keep_together(problem.alternatives, keep);
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
  std::vector<bool> taken(weights.absent.size(), false);  // by the first of a group: one of it is there
  for (const std::size_t cause : present) {
    value *= weights.present[cause];
    taken[problem.alternatives.first(cause)] = true;
  }
  for (std::size_t cause = 0; cause < weights.absent.size(); ++cause)
    if (problem.alternatives.is_first(cause) && !taken[cause]) value *= weights.absent[cause];
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
