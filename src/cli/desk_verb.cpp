#include "cli/desk_verb.h"

#include <chrono>
#include <cstdio>
#include <thread>

#include "core/error.h"
#include "desk/browser.h"
#include "desk/desk.h"

namespace lull::cli {

namespace {

constexpr std::chrono::milliseconds kLookAgain{100};

void warn_of_others(const std::string& address) {
  write_error(printable(fmt::format(
      "lull: warning: --listen {}: other machines can reach the desk. Whoever has the key reads "
      "the "
      "folder and uses this machine, and the key goes over the network as plain text. On a network "
      "that is not yours alone use a tunnel instead: 'lull help desk'.\n",
      address)));
}

}  // namespace

DeskVerb::DeskVerb()
    : Verb("desk", "Look, choose, tune and export in the browser", "lull desk captures/"),
      resources_(run::thread_options()) {
  run::append(resources_, run::memory_options());
}

std::vector<run::OptionFacts> DeskVerb::options() const {
  std::vector<run::OptionFacts> out;
  for (const auto& option : desk::desk_options()) out.push_back(option.facts);
  for (const auto& option : resources_) out.push_back(option.facts);
  return out;
}

void DeskVerb::execute(const CancelToken& cancel) {
  desk::DeskRequest request;
  apply(desk::desk_options(), request);
  run::Resources resources;
  apply(resources_, resources);
  set_thread_count(resources.threads);
  desk::check_folder(request.folder);
  bool was_at_work = false;
  {
    desk::Desk desk(request, resources);
    if (!desk::is_loopback(request.listen)) warn_of_others(request.listen);
    fmt::print("{}\nThe desk is at this address; Ctrl-C ends it.\n", desk.address());
    if (std::fflush(stdout) != 0) return;  // nobody could find it; the caller reports why
    if (request.browser == desk::Browser::opened) desk::open_in_browser(desk.one_time_address());
    while (!cancel.cancelled()) std::this_thread::sleep_for(kLookAgain);
    was_at_work = desk.is_at_work();
  }
  if (was_at_work) throw Interrupted();
}

}  // namespace lull::cli
