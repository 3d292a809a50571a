#include "files/left_files.h"

#include <fmt/format.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cstdint>
#include <ctime>
#include <fstream>
#include <string_view>
#include <system_error>
#include <vector>

namespace lull::files {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view kBegin = ".lull-";
constexpr std::string_view kEnd = ".part";
// No run pauses so long while it writes.
constexpr std::time_t kAbandonedSeconds = std::time_t{2} * 86400;

std::string first_line(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  std::getline(file, line);
  return line;
}

/// FNV-1a: the same text gives the same number in every program.
std::uint32_t hash_of(std::string_view text) {
  std::uint32_t hash = 2166136261U;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619U;
  return hash;
}

/// Process ids mean the same to all who share this. Empty where the system does not state it.
std::string system_tag() {
  std::error_code failed;
  const std::string boot = first_line("/proc/sys/kernel/random/boot_id");
  const fs::path ids = fs::read_symlink("/proc/self/ns/pid", failed);
  if (failed || boot.empty()) return {};
  return fmt::format("{:08x}", hash_of(boot + ids.string()));
}

/// When a process began, in ticks since the last start of the system (proc(5), field 22 of stat);
/// empty if there is none of that id.
std::string begin_of(const std::string& process) {
  std::string stat = first_line("/proc/" + process + "/stat");
  stat.erase(0, stat.rfind(')') + 1);  // the name before it may hold anything
  constexpr int kFieldsBefore = 19;
  std::size_t at = 0;
  for (int i = 0; i < kFieldsBefore && at != std::string::npos; ++i) at = stat.find(' ', at + 1);
  if (at == std::string::npos) return {};
  return stat.substr(at + 1, stat.find(' ', at + 1) - at - 1);
}

struct Identity {
  std::string system = system_tag();
  std::string process = fmt::format("{}", ::getpid());
  std::string begin = begin_of(process);

  [[nodiscard]] bool known() const { return !system.empty() && !begin.empty(); }
};

std::uint64_t random_number() {
  static std::atomic<std::uint64_t> counter{0};
  std::uint64_t number = 0;
  if (::getrandom(&number, sizeof number, GRND_NONBLOCK) != sizeof number)
    return counter.fetch_add(1);
  return number;
}

std::vector<std::string> split(std::string_view text, char separator) {
  std::vector<std::string> out;
  while (true) {
    const auto at = text.find(separator);
    out.emplace_back(text.substr(0, at));
    if (at == std::string_view::npos) return out;
    text.remove_prefix(at + 1);
  }
}

/// What stands between kBegin and kEnd; empty if the name is not that of a temporary file. A format
/// may have added its ending.
std::string owner_in(const std::string& name) {
  if (!name.starts_with(kBegin)) return {};
  const auto end = name.find(kEnd, kBegin.size());
  if (end == std::string::npos) return {};
  const std::string_view rest = std::string_view(name).substr(end + kEnd.size());
  if (!rest.empty() && (rest[0] != '.' || rest.find_first_of(".-", 1) != std::string_view::npos))
    return {};
  std::string owner = name.substr(kBegin.size(), end - kBegin.size());
  return owner.find_first_not_of("0123456789abcdef-") == std::string::npos ? owner : "";
}

bool is_left(const fs::path& path, const Identity& own) {
  const std::string owner = owner_in(path.filename().string());
  if (owner.empty()) return false;
  struct stat found = {};
  if (::lstat(path.c_str(), &found) != 0 || !S_ISREG(found.st_mode)) return false;
  if (found.st_uid != ::geteuid()) return false;
  const std::vector<std::string> parts = split(owner, '-');
  if (own.known() && parts.size() == 4 && parts[0] == own.system)
    return begin_of(parts[1]) != parts[2];
  return std::time(nullptr) - found.st_mtime > kAbandonedSeconds;
}

}  // namespace

std::string temporary_name() {
  const Identity own;
  const bool known = own.known();
  return fmt::format("{}{}-{}-{}-{:016x}{}", kBegin, known ? own.system : "0", own.process,
                     known ? own.begin : "0", random_number(), kEnd);
}

void remove_left_files(const fs::path& folder) {
  std::error_code failed;
  const Identity own;
  std::vector<fs::path> left;
  for (fs::directory_iterator entry(folder, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    if (is_left(entry->path(), own)) left.push_back(entry->path());
  }
  for (const fs::path& path : left) ::unlink(path.c_str());
}

}  // namespace lull::files
