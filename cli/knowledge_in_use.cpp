#include "cli/knowledge_in_use.hpp"

#include <fmt/format.h>

#include "engine/input/problem.hpp"
#include "engine/learn/apply.hpp"
#include "engine/learn/fingerprint.hpp"
#include "engine/log/learned.hpp"

namespace wheeltapper::cli {

namespace po = boost::program_options;

po::options_description learning_options() {
  po::options_description options("Learning");
  options.add_options()("no-learning", po::bool_switch(),
                        "go by the knowledge as shipped, whatever the log has learned");
  return options;
}

namespace {

void take_learned(KnowledgeInUse& use, log::Log& log) {
  const auto numbers = log::learned_numbers(log);
  if (!numbers) return;
  if (numbers->knowledge != learn::fingerprint(use.catalogue->items())) {
    use.said = "The log learned from other knowledge than this: not used. `wheeltapper learn` learns anew.";
    return;
  }
  use.catalogue =
      std::make_shared<const catalogue::Catalogue>(learn::apply(use.catalogue->items(), numbers->parameters));
  use.learned_jobs = numbers->jobs;
  use.said =
      fmt::format("Numbers learned from {} closed jobs are in use; --no-learning leaves them out.", numbers->jobs);
}

}  // namespace

KnowledgeInUse knowledge_in_use(const Parsed& parsed, log::Log& log) {
  KnowledgeInUse use{knowledge_of(parsed), 0, {}};
  if (!parsed.values["no-learning"].as<bool>()) take_learned(use, log);
  return use;
}

KnowledgeInUse knowledge_in_use(const Parsed& parsed, const Io& io) {
  KnowledgeInUse use{knowledge_of(parsed), 0, {}};
  if (parsed.values["no-learning"].as<bool>() || !log_exists(parsed, io)) return use;
  try {
    take_learned(use, *open_log(parsed, io, use.catalogue, log::Settings::Open::read_only));
  } catch (const log::LogError& wrong) {
    io.err << "wheeltapper: " << input::harmless(wrong.what()) << "; going by the knowledge as shipped\n";
  }
  return use;
}

}  // namespace wheeltapper::cli
