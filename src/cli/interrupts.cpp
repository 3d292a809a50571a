#include "cli/interrupts.h"

#include <pthread.h>
#include <unistd.h>

#include <cerrno>
#include <ctime>
#include <system_error>
#include <utility>

#include "core/error.h"
#include "files/atomic_file.h"

namespace lull::cli {

namespace {

constexpr int kWake = SIGUSR1;  // from the destructor to the watcher

bool is_ignored(int signal_number) {
  struct sigaction action = {};
  return sigaction(signal_number, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

}  // namespace

// A thread that waits, and no signal handler: a handler must not lock or allocate, and so could not
// clean up.
Interrupts::Interrupts(std::function<void()> last_words) : last_words_(std::move(last_words)) {
  sigemptyset(&signals_);
  sigaddset(&signals_, kWake);
  for (const int signal_number : {SIGINT, SIGTERM, SIGHUP}) {
    if (!is_ignored(signal_number)) sigaddset(&signals_, signal_number);
  }
  pthread_sigmask(SIG_BLOCK, &signals_, &earlier_);
  try {
    watcher_ = std::thread([this] { watch(); });
  } catch (const std::system_error&) {
    pthread_sigmask(SIG_SETMASK, &earlier_, nullptr);
  }
}

Interrupts::~Interrupts() {
  if (!watcher_.joinable()) return;
  over_ = true;
  pthread_kill(watcher_.native_handle(), kWake);
  watcher_.join();
  pthread_sigmask(SIG_SETMASK, &earlier_, nullptr);
}

void Interrupts::leave() const {
  files::remove_unfinished_files();
  ::alarm(1);  // should whoever reads the words not take them
  if (last_words_) last_words_();
  _exit(static_cast<int>(ExitStatus::interrupted));
}

void Interrupts::watch() {
  int signal_number = 0;
  do {
    if (sigwait(&signals_, &signal_number) != 0 || over_) return;
  } while (signal_number == kWake);
  cancel_.cancel();
  // Most runs stop at once. Some first release the memory of a million frames, or wait for a disk.
  const timespec grace = {0, 400'000'000};
  do {
    signal_number = sigtimedwait(&signals_, nullptr, &grace);
    if (over_) return;
  } while (signal_number == kWake || (signal_number < 0 && errno == EINTR));
  leave();
}

}  // namespace lull::cli
