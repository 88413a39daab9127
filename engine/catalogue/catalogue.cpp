#include "engine/catalogue/catalogue.hpp"

#include <utility>

namespace wheeltapper::catalogue {
namespace {

template <typename Item>
void fill(std::unordered_map<std::string_view, std::size_t>& index, const std::vector<Item>& list) {
  index.reserve(list.size());
  for (std::size_t i = 0; i < list.size(); ++i) index.emplace(list[i].id, i);
}

}  // namespace

Catalogue::Catalogue(Items items) : items_(std::move(items)) {
  fill(families_, items_.families);
  fill(places_, items_.places);
  fill(quantities_, items_.quantities);
  fill(causes_, items_.causes);
  fill(findings_, items_.findings);
  fill(checks_, items_.checks);
  fill(repairs_, items_.repairs);
  fill(cautions_, items_.cautions);
  fill(contexts_, items_.contexts);
  fill(rules_, items_.rules);
}

std::string_view name(Power power) {
  switch (power) {
    case Power::unplugged:
      return "unplugged";
    case Power::live:
      return "live";
    case Power::unplugged_then_live:
      return "unplugged-then-live";
  }
  return "";
}

std::string_view name(Opens opens) {
  switch (opens) {
    case Opens::nothing:
      return "nothing";
    case Opens::cover:
      return "cover";
    case Opens::motor:
      return "motor";
    case Opens::press:
      return "press";
  }
  return "";
}

std::string_view name(Skill skill) {
  switch (skill) {
    case Skill::novice:
      return "novice";
    case Skill::intermediate:
      return "intermediate";
    case Skill::expert:
      return "expert";
  }
  return "";
}

std::string_view name(Withhold withhold) {
  switch (withhold) {
    case Withhold::live:
      return "live";
    case Withhold::everything:
      return "everything";
    case Withhold::touch:
      return "touch";
  }
  return "";
}

std::string_view name(Signal signal) {
  switch (signal) {
    case Signal::danger:
      return "danger";
    case Signal::warning:
      return "warning";
    case Signal::caution:
      return "caution";
    case Signal::notice:
      return "notice";
  }
  return "";
}

}  // namespace wheeltapper::catalogue
