#include <fmt/format.h>

#include "cli/case_command.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/report/text.hpp"

namespace wheeltapper::cli {
namespace {

using catalogue::Catalogue;

std::optional<std::string> explanation(const Catalogue& catalogue, const std::string& id, const report::Style& style) {
  if (const auto* cause = catalogue.cause(id)) return report::explain_cause(catalogue, *cause, style);
  if (const auto* finding = catalogue.finding(id)) return report::explain_finding(catalogue, *finding, style);
  if (const auto* check = catalogue.check(id)) return report::explain_check(catalogue, *check, style);
  if (const auto* repair = catalogue.repair(id)) return report::explain_repair(catalogue, *repair, style);
  if (const auto* caution = catalogue.caution(id)) return report::explain_caution(*caution, style);
  if (const auto* context = catalogue.context(id)) return report::explain_context(catalogue, *context, style);
  if (const auto* place = catalogue.place(id)) return report::explain_place(catalogue, *place, style);
  return std::nullopt;
}

std::vector<std::string_view> all_ids(const Catalogue& catalogue) {
  std::vector<std::string_view> ids;
  const auto add = [&](const auto& list) {
    for (const auto& item : list) ids.push_back(item.id);
  };
  const auto& items = catalogue.items();
  add(items.causes), add(items.findings), add(items.checks), add(items.repairs), add(items.cautions),
      add(items.contexts), add(items.places);
  return ids;
}

}  // namespace

int run_explain(const Args& args, const Io& io) {
  boost::program_options::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, common_options(false), words, "explain ID [options]",
            "Explains one thing of the knowledge in plain words: what it is, how it looks, how to do it,\n"
            "what it shows, how sure that is and what could hurt you.",
            "  wheeltapper explain bearing-dry\n"
            "  wheeltapper explain check-one-drop-oil\n");
  if (parsed.helped) return kOk;
  const std::string id = one_word(parsed, "one id; `wheeltapper show causes` lists some");
  const report::Style style = style_of(parsed, io);
  const auto catalogue = knowledge_of(parsed);
  if (const auto text = explanation(*catalogue, id, style)) {
    io.out << *text;
    return kOk;
  }
  for (const auto& [kind, there] : {std::pair{"quantities", catalogue->quantity(id) != nullptr},
                                    {"families", catalogue->family(id) != nullptr},
                                    {"rules", catalogue->rule(id) != nullptr}})
    if (there) throw UsageError(fmt::format("\"{}\" needs no explaining; see: wheeltapper show {} {}", id, kind, id));
  const auto nearest = input::near_miss(id, all_ids(*catalogue));
  throw UsageError(
      fmt::format("nothing is called \"{}\"{}", id, nearest ? "; did you mean \"" + *nearest + "\"?" : ""));
}

}  // namespace wheeltapper::cli
