#include "desk/browser.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdlib>
#include <system_error>
#include <thread>

namespace lull::desk {

namespace {

bool has_desktop() {
  for (const char* name : {"DISPLAY", "WAYLAND_DISPLAY"}) {
    const char* value = std::getenv(name);
    if (value != nullptr && *value != '\0') return true;
  }
  return false;
}

/// How the program is started: quiet, with signals as usual, and without the terminal, so that
/// Ctrl-C ends the desk alone.
class Start {
 public:
  Start() {
    posix_spawn_file_actions_init(&files_);
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
      posix_spawn_file_actions_addopen(&files_, stream, "/dev/null", O_RDWR, 0);
    posix_spawnattr_init(&attributes_);
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_setsigmask(&attributes_, &none);
    posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSID);
  }

  ~Start() {
    posix_spawn_file_actions_destroy(&files_);
    posix_spawnattr_destroy(&attributes_);
  }

  Start(const Start&) = delete;
  Start& operator=(const Start&) = delete;

  [[nodiscard]] bool run(std::string program, std::string argument, pid_t& child) const {
    std::array<char*, 3> words = {program.data(), argument.data(), nullptr};
    return posix_spawnp(&child, words[0], &files_, &attributes_, words.data(), environ) == 0;
  }

 private:
  posix_spawn_file_actions_t files_{};
  posix_spawnattr_t attributes_{};
};

}  // namespace

bool open_in_browser(const std::string& address) {
  pid_t child = 0;
  if (!has_desktop() || !Start().run("xdg-open", address, child)) return false;
  try {
    std::thread([child] { ::waitpid(child, nullptr, 0); }).detach();
  } catch (const std::system_error&) {  // its entry stays in the table of processes till the end
  }
  return true;
}

}  // namespace lull::desk
