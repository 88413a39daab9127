#include "cli/output.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <boost/uuid/random_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <ext/stdio_filebuf.h>
#include <filesystem>
#include <fstream>

#include "engine/input/problem.hpp"
#include "engine/log/schema.hpp"

namespace wheeltapper::cli {
namespace {

namespace fs = std::filesystem;
namespace po = boost::program_options;

[[noreturn]] void refuse(const std::string& path, std::string wrong, std::string allowed) {
  throw input::BadInput({{path, "", std::move(wrong), std::move(allowed)}});
}

[[noreturn]] void cannot_write(const std::string& path) {
  throw OutputFailed(fmt::format("{} can't be written; name a file in a folder with room that you may write in", path));
}

/// A file handle that is closed whatever happens.
class Handle {
 public:
  explicit Handle(int number) : number_(number) {}
  ~Handle() {
    if (number_ >= 0) close(number_);
  }
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  Handle(Handle&&) = delete;
  Handle& operator=(Handle&&) = delete;
  int number() const noexcept { return number_; }

 private:
  int number_;
};

/// True if all was written and, for a file, lies on the disk.
bool write_to(int handle, const std::function<void(std::ostream&)>& write, bool to_disk) {
  const int own = dup(handle);
  if (own < 0) return false;
  __gnu_cxx::stdio_filebuf<char> buffer(own, std::ios::out | std::ios::binary);
  std::ostream out(&buffer);
  write(out);
  out.flush();
  return static_cast<bool>(out) && (!to_disk || fsync(handle) == 0);
}

/// "folder/name" with the folder's links resolved, for comparing; the name itself as it stands.
fs::path plain(const std::string& path) {
  std::error_code wrong;
  const fs::path given(path);
  const fs::path folder = given.has_parent_path() ? given.parent_path() : fs::path(".");
  return fs::weakly_canonical(folder, wrong) / given.filename();
}

bool same_file(const std::string& one, const std::string& other) {
  std::error_code wrong;
  return plain(one) == plain(other) ||
         (fs::exists(one, wrong) && fs::exists(other, wrong) && fs::equivalent(one, other, wrong));
}

/// By SQLite's head: "SQLite format 3", and our mark at byte 68.
bool is_a_log(const std::string& path) {
  std::error_code wrong;
  if (!fs::is_regular_file(path, wrong)) return false;
  std::array<char, 72> head{};
  std::ifstream in(path, std::ios::binary);
  if (!in.read(head.data(), head.size()) || std::string_view(head.data(), 15) != "SQLite format 3") return false;
  std::uint32_t mark = 0;
  for (std::size_t i = 68; i < 72; ++i) mark = mark << 8U | static_cast<unsigned char>(head.at(i));
  return mark == static_cast<std::uint32_t>(log::kApplicationId);
}

/// What SQLite keeps beside a log, of whatever name.
bool belongs_to_a_log(const std::string& path) {
  for (const std::string_view end : {"-wal", "-shm", "-journal"})
    if (path.ends_with(end) && is_a_log(path.substr(0, path.size() - end.size()))) return true;
  std::error_code wrong;
  if (!fs::is_regular_file(path, wrong)) return false;
  std::array<unsigned char, 4> head{};
  std::ifstream in(path, std::ios::binary);
  in.read(reinterpret_cast<char*>(head.data()), head.size());  // the mark of a write-ahead log
  return in && head[0] == 0x37 && head[1] == 0x7F && head[2] == 0x06 && (head[3] == 0x82 || head[3] == 0x83);
}

/// The file that a chain of links ends at; it need not be there.
std::string target_of(const std::string& path) {
  std::error_code wrong;
  fs::path at(path);
  for (int links = 0; links < 40 && fs::is_symlink(fs::symlink_status(at, wrong)); ++links) {
    const fs::path next = fs::read_symlink(at, wrong);
    at = next.is_absolute() ? next : at.parent_path() / next;
  }
  return at.string();
}

std::string folder_of(const std::string& path) {
  const fs::path parent = fs::path(path).parent_path();
  return parent.empty() ? "." : parent.string();
}

/// Gives the nameless file its name, in place of one that is there.
bool put_in_place(int handle, const std::string& path, bool replace) {
  const std::string self = fmt::format("/proc/self/fd/{}", handle);
  if (!replace) return linkat(AT_FDCWD, self.c_str(), AT_FDCWD, path.c_str(), AT_SYMLINK_FOLLOW) == 0;
  const std::string beside = fmt::format("{}/.{}", folder_of(path), to_string(boost::uuids::random_generator()()));
  if (linkat(AT_FDCWD, self.c_str(), AT_FDCWD, beside.c_str(), AT_SYMLINK_FOLLOW) != 0) return false;
  if (rename(beside.c_str(), path.c_str()) == 0) return true;
  unlink(beside.c_str());
  return false;
}

/// Where the file system knows no files without a name: one beside its place, taken away if anything fails.
bool write_beside(const std::string& path, mode_t mode, bool replace, const std::function<void(std::ostream&)>& write) {
  const std::string beside = fmt::format("{}/.{}", folder_of(path), to_string(boost::uuids::random_generator()()));
  const Handle handle(open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600));
  if (handle.number() < 0) return false;
  bool done = write_to(handle.number(), write, true) && fchmod(handle.number(), mode) == 0;
  done = done && (replace ? rename(beside.c_str(), path.c_str()) : link(beside.c_str(), path.c_str())) == 0;
  if (!done || !replace) unlink(beside.c_str());
  return done;
}

void write_regular(const std::string& path, mode_t mode, bool replace,
                   const std::function<void(std::ostream&)>& write) {
  const Handle handle(open(folder_of(path).c_str(), O_WRONLY | O_TMPFILE | O_CLOEXEC, 0600));
  const bool nameless = handle.number() >= 0;
  if (!nameless && errno != EOPNOTSUPP && errno != EISDIR && errno != ENOENT && errno != EINVAL) cannot_write(path);
  const bool done = nameless ? write_to(handle.number(), write, true) && fchmod(handle.number(), mode) == 0 &&
                                   put_in_place(handle.number(), path, replace)
                             : write_beside(path, mode, replace, write);
  if (!done) cannot_write(path);
}

}  // namespace

po::options_description output_options() {
  po::options_description options("Files that are written");
  options.add_options()("overwrite", po::bool_switch(), "replace a file that is there already");
  return options;
}

void demand_no_log(const std::string& path, const std::string& log) {
  const auto is_log = [&] { refuse(path, "is the log or belongs to it", "another file"); };
  if (!log.empty())
    for (const char* companion : {"", "-wal", "-shm", "-journal"})
      for (const std::string& each : {path, target_of(path)})
        if (same_file(each, log + companion)) is_log();
  if (belongs_to_a_log(path) || belongs_to_a_log(target_of(path))) is_log();
  if (is_a_log(path)) refuse(path, "is a log, which no output replaces", "another file");
}

void write_file(const Parsed& parsed, const Io& io, const std::string& path, const std::string& log,
                const std::function<void(std::ostream&)>& write) {
  if (path == "-") {
    write(io.out);
    return;
  }
  if (path.empty()) refuse("\"\"", "names no file", "a file to write");
  demand_no_log(path, log);
  struct stat there {};
  const bool exists = stat(path.c_str(), &there) == 0;
  if (exists && S_ISDIR(there.st_mode)) refuse(path, "is a folder", "a file");
  if (exists && !S_ISREG(there.st_mode)) {
    const Handle handle(open(path.c_str(), O_WRONLY | O_CLOEXEC | O_NOCTTY));
    if (handle.number() < 0 || !write_to(handle.number(), write, false)) cannot_write(path);
    return;
  }
  if (exists && !parsed.values["overwrite"].as<bool>())
    refuse(path, "is there already, and nothing was written", "a new file, or --overwrite");
  if (exists && there.st_nlink > 1) refuse(path, "has a second name (a hard link)", "a file with one name");
  write_regular(target_of(path), exists ? there.st_mode & 07777U : 0600U, exists, write);
}

}  // namespace wheeltapper::cli
