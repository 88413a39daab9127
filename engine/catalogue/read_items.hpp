#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/catalogue/cards.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::catalogue {

/// One object of a knowledge file, before it is known what it says: a whole item, or the patch of one.
struct Written {
  std::string_view kind;  ///< of kinds()
  nlohmann::json value;
  Origin origin;
};

/// Items and cards as they were read, before the cards are dealt.
struct Hand {
  Items items;  ///< those of one kind in the order of the files
  std::vector<Card> cards;
};

/// The kinds of list a knowledge file may have, in the order of Items.
const std::vector<std::string_view>& kinds();

/// The objects in the lists of one file. Every mistake of form adds a Problem; an object without a usable id is left
/// out.
std::vector<Written> written_in(const nlohmann::json& file, const std::string& name,
                                std::vector<input::Problem>& problems);

/// Reads whole items by their field lists (fields.hpp). Every mistake adds a Problem at its place.
Hand read_items(std::span<const Written> all, std::vector<input::Problem>& problems);

}  // namespace wheeltapper::catalogue
