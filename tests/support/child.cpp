#include "support/child.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>

#include "core/error.h"
#include "support/text.h"

namespace lull::test {

std::string message_in_child(const std::function<void()>& prepare,
                             const std::function<void()>& work) {
  int ends[2] = {};
  REQUIRE(::pipe(ends) == 0);
  const pid_t child = ::fork();
  if (child == 0) {
    prepare();
    const std::string message = message_of<OutputError>(work);
    const ssize_t sent = ::write(ends[1], message.data(), message.size());
    ::_exit(sent == static_cast<ssize_t>(message.size()) ? 0 : 1);
  }
  ::close(ends[1]);
  std::string message(4096, '\0');
  const ssize_t got = ::read(ends[0], message.data(), message.size());
  ::close(ends[0]);
  message.resize(static_cast<std::size_t>(std::max<ssize_t>(got, 0)));
  int state = 0;
  ::waitpid(child, &state, 0);
  REQUIRE(WIFEXITED(state));
  REQUIRE(WEXITSTATUS(state) == 0);
  return message;
}

}  // namespace lull::test
