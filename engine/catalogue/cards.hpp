#pragma once
#include <span>
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::catalogue {

/// A number on a cause's card, about the finding, check result ("check/result"), repair or context with that id.
struct Entry {
  std::string id;
  ByFamily<double> value;
};

/// A finding in which the cause shows.
struct Shown {
  std::string id;
  ByFamily<Levels> strength;
  std::string basis;  ///< empty: that of the finding
  std::string why;
};

/// All that the knowledge says about one cause and other things, as its files have it: cut by cause, as people write
/// and correct it. In memory the same numbers are cut by finding, check, repair and context, as the network is compiled
/// from them: deal() goes there, cards_of() back.
struct Card {
  std::string cause;
  Origin origin;
  std::vector<Shown> shows;           ///< chance that the cause alone brings the finding about
  std::vector<Entry> found_by;        ///< chance of the result when the cause is present and no other
  std::vector<Entry> cured_by;        ///< chance that the repair, done once, removes the cause
  std::vector<Entry> hides;           ///< chance that the cause keeps the finding from showing at all
  std::vector<Entry> likelier_after;  ///< factor on the odds when the context is true
};

/// Deals the cards' numbers to the items they are about, in the order of the cards, and works out which families each
/// finding, check and repair applies to. What was dealt before is taken back first.
/// Adds a problem for each entry that no item fits: an id that does not resolve, a number of levels or a size that
/// the item does not allow. Such an entry is left out.
void deal(std::span<const Card> cards, Items& items, std::vector<input::Problem>& problems);

/// The cards that were dealt: one for each cause, in their order.
std::vector<Card> cards_of(const Items& items);

}  // namespace wheeltapper::catalogue
