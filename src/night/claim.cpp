#include "night/claim.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <condition_variable>
#include <fstream>
#include <iterator>
#include <mutex>
#include <sstream>
#include <thread>

#include "core/error.h"
#include "files/failure.h"
#include "files/left_files.h"
#include "night/night_folder.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

constexpr std::chrono::seconds kBeat{5};
constexpr std::chrono::milliseconds kLookAgain{200};

std::string machine() {
  std::array<char, 256> name{};
  if (gethostname(name.data(), name.size() - 1) != 0) return "unknown";
  return name.data();
}

/// What a lock file says: who holds it, and a number that rises.
struct Content {
  std::string machine{};
  long process = 0;
  std::string started{};  ///< of the process, so that another of its number is not taken for it
  long beats = 0;

  friend bool operator==(const Content&, const Content&) = default;
};

// Field 22 of /proc/PID/stat, proc(5): start time. Empty: there is no such process.
std::string start_of(long process) {
  std::ifstream file(fmt::format("/proc/{}/stat", process));
  std::string text{std::istreambuf_iterator<char>(file), {}};
  const std::size_t end = text.rfind(')');  // the name before it may hold anything
  if (end == std::string::npos) return {};
  std::istringstream fields(text.substr(end + 1));
  std::string field;
  for (int i = 3; i <= 22; ++i) {
    fields >> field;
    if (i == 3 && (field == "Z" || field == "X")) return {};  // ended, nobody asked how
  }
  return field;
}

std::optional<Content> read(const fs::path& lock) {
  std::ifstream file(lock);
  Content content;
  if (!(file >> content.machine >> content.process >> content.started >> content.beats))
    return std::nullopt;
  return content;
}

void write(const fs::path& path, const Content& content) {
  std::ofstream file(path, std::ios::trunc);
  file << fmt::format("{} {} {} {}\n", content.machine, content.process, content.started,
                      content.beats)
       << std::flush;
  if (!file) throw files::cannot_write(path, errno);
}

Content own() {
  return {machine(), static_cast<long>(getpid()), start_of(static_cast<long>(getpid())), 0};
}

bool is_gone(const Content& holder) {
  if (holder.machine != machine()) return false;
  return start_of(holder.process) != holder.started;
}

bool same_holder(const Content& a, const Content& b) {
  return a.machine == b.machine && a.process == b.process && a.started == b.started;
}

// Of several who find a lock deserted, one after the other looks again: a lock that somebody has
// taken since stays. @param deserted  none: it says nothing, as after a loss of power.
void take_away(const fs::path& lock, const std::optional<Content>& deserted) {
  const fs::path gate = lock.string() + ".gate";
  const int descriptor = open(gate.c_str(), O_CREAT | O_RDWR | O_CLOEXEC, 0644);
  if (descriptor < 0) throw files::cannot_write(lock, errno);
  while (flock(descriptor, LOCK_EX) != 0 && errno == EINTR) continue;
  const auto now = read(lock);
  std::error_code ignored;
  const bool is_same = now && deserted ? same_holder(*now, *deserted) : !now && !deserted;
  if (is_same) fs::remove(lock, ignored);
  fs::remove(gate, ignored);
  close(descriptor);
}

// @return whether the lock is ours.
bool link_lock(const fs::path& lock) {
  const fs::path mine = lock.parent_path() / files::temporary_name();
  write(mine, own());
  std::error_code error;
  fs::create_hard_link(mine, lock, error);
  std::error_code ignored;
  fs::remove(mine, ignored);
  if (error && error != std::errc::file_exists) throw files::cannot_write(lock, error.value());
  return !error;
}

}  // namespace

/// Shows the others that the holder is there.
struct Claim::Beat {
  explicit Beat(fs::path lock) : file(std::move(lock)), thread([this] { work(); }) {}

  ~Beat() {
    {
      const std::scoped_lock lock(guard);
      over = true;
    }
    ended.notify_all();
    thread.join();
  }

  Beat(const Beat&) = delete;
  Beat& operator=(const Beat&) = delete;

  void work() {
    Content content = own();
    std::unique_lock lock(guard);
    while (!ended.wait_for(lock, kBeat, [this] { return over; })) {
      ++content.beats;
      try {
        write(file, content);
      } catch (const OutputError&) {
        continue;  // a full disk: the run itself reports it
      }
    }
  }

  fs::path file;
  std::mutex guard;
  std::condition_variable ended;
  bool over = false;
  std::thread thread;
};

Claim::Claim(fs::path lock) : lock_(std::move(lock)), beat_(std::make_unique<Beat>(lock_)) {}

Claim::~Claim() {
  beat_.reset();
  std::error_code ignored;
  const auto content = read(lock_);
  if (content && content->process == getpid() && content->machine == machine())
    fs::remove(lock_, ignored);
}

std::unique_ptr<Claim> Claim::try_take(const fs::path& lock) {
  NightFolder::make_folder_of(lock.string());
  if (const auto holder = read(lock); holder && is_gone(*holder)) take_away(lock, holder);
  if (!link_lock(lock)) return nullptr;
  return std::unique_ptr<Claim>(new Claim(lock));
}

std::unique_ptr<Claim> Claim::take(const fs::path& lock, const CancelToken& cancel, Holder holder) {
  std::optional<Content> seen;
  Clock::time_point since = Clock::now();
  for (;;) {
    if (auto claim = try_take(lock)) return claim;
    if (cancel.cancelled()) throw Interrupted();
    const auto now = read(lock);
    const bool is_here = now && now->machine == machine();
    const bool moves = now && seen && same_holder(*now, *seen) && now->beats != seen->beats;
    if (holder == Holder::refuses && (is_here || moves)) return nullptr;
    if (now != seen) {
      seen = now;
      since = Clock::now();
    } else if (Clock::now() - since > kPatience) {
      take_away(lock, now);
      continue;
    }
    std::this_thread::sleep_for(kLookAgain);
  }
}

std::string Claim::holder(const fs::path& lock) {
  const auto content = read(lock);
  if (!content || is_gone(*content)) return {};
  return fmt::format("process {} on {}", content->process, content->machine);
}

}  // namespace lull::night
