#pragma once
#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/command.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::cli {

/// The action of a command that a word names. \throws UsageError  with the nearest one
template <typename Actions>
const auto& find_action(const Actions& actions, std::string_view command, const std::string& word) {
  const auto found = std::ranges::find(actions, std::string_view(word), [](const auto& action) { return action.name; });
  if (found != actions.end()) return *found;
  std::vector<std::string_view> names;
  for (const auto& action : actions) names.push_back(action.name);
  const auto nearest = input::near_miss(word, names);
  throw UsageError(
      fmt::format("{} has no action \"{}\"{}", command, word, nearest ? "; did you mean \"" + *nearest + "\"?" : ""));
}

/// \throws UsageError  with the nearest id, unless the item was found
template <typename Item>
void demand_id(const std::string& id, std::string_view kind, const Item* found, const std::vector<Item>& list) {
  if (found != nullptr) return;
  std::vector<std::string_view> ids;
  ids.reserve(list.size());
  for (const Item& item : list) ids.push_back(item.id);
  const auto nearest = input::near_miss(id, ids);
  throw UsageError(
      fmt::format("there is no {} \"{}\"; {}", kind, id,
                  nearest ? "did you mean \"" + *nearest + "\"?" : fmt::format("see: wheeltapper show {}s", kind)));
}

}  // namespace wheeltapper::cli
