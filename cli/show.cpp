#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <nlohmann/json.hpp>

#include "cli/case_command.hpp"
#include "engine/catalogue/fields.hpp"
#include "engine/catalogue/read_items.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/input/problem.hpp"
#include "engine/input/words.hpp"

namespace wheeltapper::cli {
namespace {

struct Row {
  std::string id;
  std::string name;
  std::string file;  // that it was written in
};

std::vector<Row> rows_of(const catalogue::Items& items, std::string_view kind) {
  std::vector<Row> rows;
  const auto add = [&](std::string_view each, const auto& list) {
    for (const auto& item : list) {
      if (each != kind) return;
      if constexpr (requires { item.hazard; })
        rows.push_back({item.id, item.hazard, item.origin.file});
      else
        rows.push_back({item.id, item.name, item.origin.file});
    }
  };
  catalogue::for_each_kind(add, items);
  return rows;
}

std::string lower(std::string text) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

void print_counts(const catalogue::Items& items, const Io& io) {
  for (const auto kind : catalogue::kinds()) io.out << fmt::format("{:<11} {:>4}\n", kind, rows_of(items, kind).size());
  io.out << "`wheeltapper show findings hum` lists the findings with \"hum\" in them.\n";
}

/// "findings", also from "finding".
std::string kind_of(const std::string& word) {
  const auto kinds = catalogue::kinds();
  for (const auto kind : kinds)
    if (word == kind || word + "s" == kind) return std::string(kind);
  const auto nearest = input::near_miss(word, kinds);
  if (nearest) throw UsageError(fmt::format("there is no kind \"{}\"; did you mean \"{}\"?", word, *nearest));
  std::string list;
  for (const auto kind : kinds) input::join_to(list, kind);
  throw UsageError(fmt::format("there is no kind \"{}\"; there are {}", word, list));
}

}  // namespace

int run_show(const Args& args, const Io& io) {
  boost::program_options::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, common_options(true, false), words, "show [KIND [WORD]] [options]",
            "Lists what the knowledge holds: families, places, quantities, causes, findings, checks,\n"
            "repairs, cautions, contexts or rules; with a word, only those that have it in id or name.",
            "  wheeltapper show\n  wheeltapper show findings\n  wheeltapper show causes brush\n");
  if (parsed.helped) return kOk;
  const auto& given = parsed.values["words"].as<std::vector<std::string>>();
  if (given.size() > 2) throw UsageError("give a kind and at most one word");
  const report::Style style = style_of(parsed, io);
  const auto catalogue = knowledge_of(parsed);
  if (given.empty()) {
    print_counts(catalogue->items(), io);
    return kOk;
  }
  auto rows = rows_of(catalogue->items(), kind_of(given[0]));
  if (given.size() == 2)
    std::erase_if(rows, [word = lower(given[1])](const Row& row) {
      return lower(row.id + " " + row.name).find(word) == std::string::npos;
    });
  if (parsed.values["json"].as<bool>()) {
    auto list = nlohmann::ordered_json::array();
    for (const Row& row : rows) list.push_back({{"id", row.id}, {"name", row.name}, {"file", row.file}});
    io.out << input::escaped_controls(list.dump(2)) << "\n";
    return kOk;
  }
  if (rows.empty()) io.err << "wheeltapper: nothing of that kind has \"" << given.back() << "\" in it\n";
  report::Page page(style);
  std::string_view file;
  for (const Row& row : rows) {
    if (row.file != file) page.heading(row.file);
    file = row.file;
    page.labelled(row.id, row.name, 0, std::min<std::size_t>(32, style.width / 2));
  }
  io.out << page.text();
  return kOk;
}

}  // namespace wheeltapper::cli
