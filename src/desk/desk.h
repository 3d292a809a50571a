#pragma once

#include <memory>
#include <string>

#include "desk/desk_request.h"
#include "run/control.h"

namespace lull::desk {

/// The pages and the interface over a folder of captures, from construction to destruction.
class Desk {
 public:
  /// Connections are answered from here on.
  /// @throws UsageError, OutputError: see Listener.
  Desk(const DeskRequest& request, const run::Resources& resources);

  /// Cancels the jobs, ends all connections and waits for both.
  ~Desk();
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;

  /// "http://127.0.0.1:4711/?key=...": the first address.
  [[nodiscard]] std::string address() const;

  /// The same, to be used once, for the command line of a browser.
  [[nodiscard]] std::string one_time_address();

  [[nodiscard]] int port() const;

  /// Whether a job runs or waits.
  [[nodiscard]] bool is_at_work() const;

 private:
  class Works;
  std::unique_ptr<Works> works_;
};

/// @throws InputError where there is no such folder, or it cannot be read.
void check_folder(const std::string& folder);

/// Whether only this machine reaches an address that the desk listens at.
[[nodiscard]] bool is_loopback(const std::string& address);

}  // namespace lull::desk
