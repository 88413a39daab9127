#include "engine/job/lineage.hpp"

#include <algorithm>
#include <set>
#include <string>
#include <unordered_map>

namespace wheeltapper::job {

Lineage::Lineage(const std::vector<Event>& events) : all_before_(events.size(), 0), beyond_(events.size()) {
  std::unordered_map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < events.size(); ++i) {
    const Event& event = events[i];
    place.emplace(event.id, i);
    if (!event.seen) {
      while (all_before_[i] < i && events[all_before_[i]].number < event.number) ++all_before_[i];
      continue;
    }
    std::vector<bool> known(i, false);
    for (const std::string& id : event.seen->after) {
      const auto found = place.find(id);
      if (found == place.end() || found->second >= i) continue;  // not here, or no event before it
      const std::size_t parent = found->second;
      known[parent] = true;
      for (std::size_t j = 0; j < parent; ++j)
        if (saw(parent, j)) known[j] = true;
    }
    all_before_[i] = static_cast<std::size_t>(std::ranges::find(known, false) - known.begin());
    if (std::find(known.begin() + static_cast<std::ptrdiff_t>(all_before_[i]), known.end(), true) != known.end())
      beyond_[i] = std::move(known);
  }
}

bool Lineage::saw(std::size_t later, std::size_t earlier) const {
  if (earlier < all_before_[later]) return true;
  return earlier < beyond_[later].size() && beyond_[later][earlier];
}

Seen seen_of(const std::vector<Event>& events) {
  Seen seen;
  std::set<std::string> named;
  std::set<std::string> in_two_forms;
  std::int64_t unlinked = 0;  // the last number of those that name nothing
  for (const Event& event : events) {
    if (event.second) in_two_forms.insert(event.id);
    if (event.seen)
      named.insert(event.seen->after.begin(), event.seen->after.end());
    else
      unlinked = std::max(unlinked, event.number);
  }
  for (const Event& event : events) {
    if (in_two_forms.contains(event.id)) seen.forms.push_back(form_of(event));
    const bool first = !event.second && !named.contains(event.id) && event.number >= unlinked;
    if (first) seen.after.push_back(event.id);
  }
  std::ranges::sort(seen.after);
  std::ranges::sort(seen.forms);
  return seen;
}

}  // namespace wheeltapper::job
