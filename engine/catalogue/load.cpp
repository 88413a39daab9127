#include "engine/catalogue/load.hpp"

#include <algorithm>

#include "engine/catalogue/cards.hpp"
#include "engine/catalogue/fields.hpp"
#include "engine/catalogue/floor.hpp"
#include "engine/catalogue/read_items.hpp"
#include "engine/catalogue/references.hpp"
#include "engine/catalogue/write_items.hpp"

namespace wheeltapper::catalogue {
namespace {

/// What the files hold; of a file that is not JSON only that it is none.
std::vector<Written> written_in_all(std::span<const input::TextFile> sources, std::vector<input::Problem>& problems) {
  std::vector<Written> all;
  for (const input::TextFile& source : sources) {
    try {
      for (Written& each : written_in(input::parse_json(source.text, source.file), source.file, problems))
        all.push_back(std::move(each));
    } catch (const input::BadInput& bad) {
      problems.insert(problems.end(), bad.problems().begin(), bad.problems().end());
    }
  }
  return all;
}

/// Each patch laid over the item that it is about, which gives a whole item (RFC 7396).
void lay_patches(std::vector<Written>& patches, const Items& base, std::span<const Card> cards) {
  for (Written& patch : patches) {
    auto below = written(base, cards, patch.kind, patch.value.at("id").get_ref<const std::string&>());
    auto item = below ? std::move(below->value) : nlohmann::json::object();
    item.merge_patch(patch.value);
    patch.value = std::move(item);
    if (below) patch.origin.over = below->origin.file;
  }
}

/// An item whose id is in the base takes its place; another one is added at the end.
template <typename Item, typename Id>
void lay(std::vector<Item>& base, std::vector<Item>& over, Id id) {
  for (Item& item : over) {
    const auto same = std::ranges::find(base, std::invoke(id, item), id);
    if (same == base.end())
      base.push_back(std::move(item));
    else
      *same = std::move(item);
  }
}

void append(std::vector<input::Problem>& problems, std::vector<input::Problem> more) {
  std::ranges::move(more, std::back_inserter(problems));
}

std::shared_ptr<const Catalogue> finish(Items items, std::vector<input::Problem> problems) {
  append(problems, check_together(items));
  if (!problems.empty()) throw input::BadInput(std::move(problems));
  return std::make_shared<const Catalogue>(std::move(items));
}

}  // namespace

std::shared_ptr<const Catalogue> load(std::span<const input::TextFile> sources) {
  std::vector<input::Problem> problems;
  Hand hand = read_items(written_in_all(sources, problems), problems);
  deal(hand.cards, hand.items, problems);
  return finish(std::move(hand.items), std::move(problems));
}

std::shared_ptr<const Catalogue> load_over(const Items& base, std::span<const input::TextFile> sources) {
  std::vector<input::Problem> problems;
  std::vector<Written> patches = written_in_all(sources, problems);
  std::vector<Card> cards = cards_of(base);
  lay_patches(patches, base, cards);
  Hand over = read_items(patches, problems);
  append(problems, used_twice(over.items));  // the later one would silently take the place of the earlier one
  Items items = base;
  lay(cards, over.cards, &Card::cause);
  for_each_kind(
      [](std::string_view, auto& under, auto& upper) {
        using Item = typename std::remove_reference_t<decltype(under)>::value_type;
        lay(under, upper, &Item::id);
      },
      items, over.items);
  std::vector<input::Problem> misfits;
  deal(cards, items, misfits);
  append(problems, weakenings(base, items));  // first, as a list of problems may be cut short
  append(problems, std::move(misfits));
  return finish(std::move(items), std::move(problems));
}

}  // namespace wheeltapper::catalogue
