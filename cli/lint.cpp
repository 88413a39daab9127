#include "engine/catalogue/lint.hpp"

#include <fmt/format.h>

#include "cli/case_command.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::cli {

int run_lint(const Args& args, const Io& io) {
  const Parsed parsed =
      parse(args, io, common_options(false, false), {}, "lint [--knowledge DIR]",
            "Looks for gaps and slips that a schema cannot see: causes that no check finds, powered checks\n"
            "without cautions, causes that nothing tells apart, and so on. Exit code 1 if there are any.",
            "  wheeltapper lint\n  wheeltapper lint --knowledge my-shop/\n");
  if (parsed.helped) return kOk;
  const auto catalogue = knowledge_of(parsed);
  const auto problems = catalogue::lint(*catalogue);
  for (const auto& problem : problems) io.out << input::to_line(problem) << "\n";
  const auto& items = catalogue->items();
  io.out << fmt::format("{} causes, {} findings, {} checks, {} repairs: {} found\n", items.causes.size(),
                        items.findings.size(), items.checks.size(), items.repairs.size(), problems.size());
  return problems.empty() ? kOk : kFound;
}

}  // namespace wheeltapper::cli
