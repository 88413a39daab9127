#include "cli/case_command.hpp"
#include "engine/files/files.hpp"

namespace wheeltapper::cli {

int run_diagnose(const Args& args, const Io& io) {
  auto options = common_options();
  options.add(diagnose_options()).add(log_options()).add(learning_options());
  boost::program_options::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed = parse(args, io, options, words, "diagnose CASE.json [options]",
                              "Reads a case and says what passed and failed and how surely, where to look and what is\n"
                              "probably wrong there, what to do next, how long it takes and what could hurt you.",
                              "  wheeltapper diagnose cases/demo/dry-bearings.json\n"
                              "  wheeltapper diagnose --all my-case.json | less\n"
                              "  wheeltapper diagnose --json my-case.json > result.json\n");
  if (parsed.helped) return kOk;
  const std::string path = one_word(parsed, "one case file");
  const cases::DiagnoseSettings settings = diagnose_settings(parsed);
  const KnowledgeInUse use = knowledge_in_use(parsed, io);
  const auto& catalogue = use.catalogue;
  const cases::Case the_case = files::load_case(path, *catalogue);
  print_diagnosis(the_case, cases::diagnose(catalogue, the_case, settings), use, parsed, io);
  return kOk;
}

}  // namespace wheeltapper::cli
