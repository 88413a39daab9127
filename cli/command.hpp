#pragma once
#include <boost/program_options.hpp>
#include <istream>
#include <memory>
#include <ostream>
#include <stdexcept>
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::cli {

/// Exit codes. Documented in README.md and in `wheeltapper --help`.
inline constexpr int kOk = 0;
inline constexpr int kFound = 1;       ///< lint or a check of the log found something
inline constexpr int kUsage = 2;       ///< a wrong option, command or id
inline constexpr int kBadInput = 3;    ///< a file that cannot be used
inline constexpr int kImpossible = 4;  ///< findings that contradict each other
inline constexpr int kFailed = 5;      ///< output could not be written, or a fault of the program
inline constexpr int kLog = 6;         ///< the log can't be used: locked, full, read-only, damaged, newer
inline constexpr int kStopped = 130;   ///< stopped by Ctrl-C; all that was answered is kept

using Args = std::vector<std::string>;

/// What a command is run with: streams, and what main() found out about the terminal.
struct Io {
  std::ostream& out;
  std::ostream& err;
  bool terminal = false;      ///< `out` is one
  bool colour_wanted = true;  ///< NO_COLOR is not set and the terminal is not dumb
  std::size_t columns = 80;
  std::istream* in = nullptr;
  bool asks = false;          ///< `in` is a terminal: a person answers
  std::string data_folder{};  ///< where this platform keeps a user's data: XDG_DATA_HOME, or ~/.local/share
};

struct Command {
  std::string_view name;
  std::string_view summary;
  int (*run)(const Args& args, const Io& io);
};

int run_assess(const Args& args, const Io& io);
int run_diagnose(const Args& args, const Io& io);
int run_quick(const Args& args, const Io& io);
int run_explain(const Args& args, const Io& io);
int run_show(const Args& args, const Io& io);
int run_rig(const Args& args, const Io& io);
int run_job(const Args& args, const Io& io);
int run_log(const Args& args, const Io& io);
int run_cures(const Args& args, const Io& io);
int run_history(const Args& args, const Io& io);
int run_learn(const Args& args, const Io& io);
int run_lint(const Args& args, const Io& io);

/// A wrong way of calling: main() prints it with a pointer to --help and exits with kUsage.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A file that was to be written and could not be: main() exits with kFailed.
class OutputFailed : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The options of one command, parsed. Handles --help: `helped` is true and the text was printed.
struct Parsed {
  boost::program_options::variables_map values;
  bool helped = false;
};
/// \param usage     the line after "Usage: wheeltapper "
/// \param examples  shown at the end of the help
Parsed parse(const Args& args, const Io& io, boost::program_options::options_description options,
             const boost::program_options::positional_options_description& positional, std::string_view usage,
             std::string_view about, std::string_view examples);

/// --json, --all, --width, --colour, --knowledge, as all commands have them.
boost::program_options::options_description common_options(bool with_json = true, bool with_all = true);
report::Style style_of(const Parsed& parsed, const Io& io);
/// The shipped knowledge, with the folder of --knowledge laid over it.
std::shared_ptr<const catalogue::Catalogue> knowledge_of(const Parsed& parsed);

}  // namespace wheeltapper::cli
