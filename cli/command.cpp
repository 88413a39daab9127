#include "cli/command.hpp"

#include <fmt/format.h>

#include "engine/catalogue/load.hpp"
#include "engine/files/files.hpp"
#include "knowledge/shipped.hpp"

namespace wheeltapper::cli {

namespace po = boost::program_options;

Parsed parse(const Args& args, const Io& io, po::options_description options,
             const po::positional_options_description& positional, std::string_view usage, std::string_view about,
             std::string_view examples) {
  options.add_options()("help,h", "show this text");
  po::options_description hidden;
  hidden.add(options);
  if (positional.max_total_count() > 0 && options.find_nothrow("words", false) == nullptr)
    hidden.add_options()("words", po::value<std::vector<std::string>>()->default_value({}, ""));
  Parsed parsed;
  try {
    const auto style = po::command_line_style::unix_style & ~po::command_line_style::allow_guessing;
    const auto given = po::command_line_parser(args).options(hidden).positional(positional).style(style).run();
    for (const auto& option : given.options)
      for (const std::string& value : option.value)
        if (!option.string_key.empty() && option.position_key < 0 && value.starts_with("--"))
          throw UsageError(fmt::format("--{} lacks its value: \"{}\" is an option", option.string_key, value));
    po::store(given, parsed.values);
    po::notify(parsed.values);
  } catch (const po::error& wrong) {
    throw UsageError(wrong.what());
  }
  if (parsed.values.count("help") > 0) {
    io.out << "Usage: wheeltapper " << usage << "\n\n" << about << "\n\n" << options << "\nExamples:\n" << examples;
    parsed.helped = true;
  }
  return parsed;
}

po::options_description common_options(bool with_json, bool with_all) {
  po::options_description options("Options");
  auto add = options.add_options();
  if (with_json) add("json", po::bool_switch(), "print JSON for programs");
  if (with_all) add("all", po::bool_switch(), "print everything, not one screen");
  add("knowledge", po::value<std::string>()->value_name("DIR"),
      "lay a folder with knowledge of your own over the shipped one");
  add("width", po::value<std::size_t>()->value_name("N"), "columns to use (else those of the terminal, or 80)");
  add("colour", po::value<std::string>()->value_name("WHEN")->default_value("auto"),
      "auto, always or never; NO_COLOR is respected");
  return options;
}

report::Style style_of(const Parsed& parsed, const Io& io) {
  report::Style style;
  style.width = parsed.values.count("width") > 0 ? parsed.values["width"].as<std::size_t>() : io.columns;
  if (style.width < report::kLeastWidth || style.width > 400)
    throw UsageError(fmt::format("--width is {}; allowed: {} to 400", style.width, report::kLeastWidth));
  const auto& when = parsed.values["colour"].as<std::string>();
  if (when != "auto" && when != "always" && when != "never")
    throw UsageError(fmt::format("--colour is \"{}\"; allowed: auto, always, never", when));
  style.colour = when == "always" || (when == "auto" && io.terminal && io.colour_wanted);
  style.all = parsed.values.count("all") > 0 && parsed.values["all"].as<bool>();
  return style;
}

std::shared_ptr<const catalogue::Catalogue> knowledge_of(const Parsed& parsed) {
  if (parsed.values.count("knowledge") == 0) return knowledge::shipped();
  return catalogue::load_over(knowledge::shipped_items(),
                              files::read_knowledge(parsed.values["knowledge"].as<std::string>()));
}

}  // namespace wheeltapper::cli
