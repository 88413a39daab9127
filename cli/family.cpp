#include "cli/family.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "cli/output.hpp"
#include "engine/input/words.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::cli {
namespace {

using catalogue::Catalogue;
using Families = std::vector<const catalogue::Family*>;

std::string ids_of_all(const Families& usable) {
  std::string ids;
  for (const auto* family : usable) input::join_to(ids, family->id);
  return ids;
}

std::string ask(const Families& usable, const Parsed& parsed, const Io& io) {
  report::Page page(style_of(parsed, io));
  page.paragraph("What kind of drive does the locomotive have?", 0, 0, report::Ink::bold);
  for (std::size_t i = 0; i < usable.size(); ++i)
    page.labelled(fmt::format("{}.", i + 1), fmt::format("{}. {}", usable[i]->name, usable[i]->description), 2, 4);
  io.out << page.text() << "Number (none of these: Enter)\n> " << std::flush;
  std::string line;
  std::getline(*io.in, line);
  for (std::size_t i = 0; i < usable.size(); ++i)
    if (line == std::to_string(i + 1) || line == usable[i]->id) return usable[i]->id;
  throw UsageError("nothing is known yet about any other kind of drive, so no job was begun");
}

std::string named(const std::string& id, const Families& usable) {
  if (std::ranges::find(usable, id, &catalogue::Family::id) != usable.end()) return id;
  throw UsageError(fmt::format("--family is \"{}\"; allowed: {}", id, ids_of_all(usable)));
}

}  // namespace

boost::program_options::options_description family_options() {
  boost::program_options::options_description options("The locomotive");
  options.add_options()("family", boost::program_options::value<std::string>()->value_name("ID"),
                        "its kind of drive; see: wheeltapper show families");
  return options;
}

std::string family_of(const Parsed& parsed, const Io& io, const Catalogue& catalogue) {
  const auto usable = catalogue.usable_families();
  if (parsed.values.count("family") > 0) return named(parsed.values["family"].as<std::string>(), usable);
  if (io.asks && io.in != nullptr) return ask(usable, parsed, io);
  throw UsageError(
      fmt::format("say what kind of drive the locomotive has: --family ID, one of {}", ids_of_all(usable)));
}

}  // namespace wheeltapper::cli
