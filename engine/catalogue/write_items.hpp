#pragma once
#include <optional>
#include <span>
#include <string_view>

#include "engine/catalogue/catalogue.hpp"
#include "engine/catalogue/read_items.hpp"

namespace wheeltapper::catalogue {

/// The item of that kind (read_items.hpp: kinds()) and id as an object that reads back as the same item, a cause with
/// its card; nothing if there is none. \param cards  those of the items (cards_of())
std::optional<Written> written(const Items& items, std::span<const Card> cards, std::string_view kind,
                               std::string_view id);

}  // namespace wheeltapper::catalogue
