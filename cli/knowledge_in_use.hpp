#pragma once
#include <memory>
#include <string>

#include "cli/bench_log.hpp"

namespace wheeltapper::cli {

/// The knowledge that a diagnosis goes by, and where its numbers come from.
struct KnowledgeInUse {
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  std::size_t learned_jobs = 0;  ///< 0: as shipped
  std::string said;              ///< a plain sentence; empty where there is no log with a numbers
};

/// --no-learning, beside log_options().
boost::program_options::options_description learning_options();

/// The shipped knowledge with --knowledge over it, and over that what the log learned, unless --no-learning, or the
/// numbers were drawn from other knowledge. A log that can't be read is said on `io.err`, and does not stop a
/// diagnosis.
KnowledgeInUse knowledge_in_use(const Parsed& parsed, const Io& io);
/// The same from a log that is open already.
KnowledgeInUse knowledge_in_use(const Parsed& parsed, log::Log& log);

}  // namespace wheeltapper::cli
