#pragma once
#include <optional>
#include <string_view>

#include "engine/catalogue/catalogue.hpp"
#include "engine/catalogue/read_items.hpp"

namespace wheeltapper::catalogue {

/// The item of that kind (read_items.hpp: kinds()) and id as an object that reads back as the same item, a cause with
/// its card; nothing if there is none.
std::optional<Written> written(const Items& items, std::string_view kind, std::string_view id);

}  // namespace wheeltapper::catalogue
