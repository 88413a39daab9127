#pragma once
#include "engine/catalogue/catalogue.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::catalogue {

/// Adds what one knowledge file holds to `items`. The kind is told by the one list the file has ("causes",
/// "findings", ...). Every mistake of form adds a Problem; an item without a usable
/// id is left out.
void read_items(const nlohmann::json& value, const std::string& file, Items& items,
                std::vector<input::Problem>& problems);

/// The kinds of list a knowledge file may have, in the order of Items.
std::vector<std::string_view> kinds();

}  // namespace wheeltapper::catalogue
