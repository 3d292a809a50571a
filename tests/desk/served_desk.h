#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "desk/client.h"
#include "desk/desk.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

namespace lull::test {

/// A desk in this process over a temporary folder.
class ServedDesk {
 public:
  /// @param samples  copied from samples/ into the folder.
  explicit ServedDesk(const std::vector<std::string>& samples = {});

  [[nodiscard]] const TemporaryFolder& folder() const { return folder_; }

  [[nodiscard]] const Client& client() const { return *client_; }

  /// Its entry in the list; null where there is none.
  [[nodiscard]] nlohmann::json listed(const std::string& name) const;

  /// "/api/captures/ID".
  [[nodiscard]] std::string capture(const std::string& name) const;

  /// Asks until the answer holds, for some minutes. @return the last answer.
  [[nodiscard]] Reply ask_until(const std::string& target,
                                const std::function<bool(const Reply&)>& holds) const;

  /// Waits for the end of a job. @return the job.
  [[nodiscard]] nlohmann::json end_of_job(const nlohmann::json& job) const;

  /// Ends the desk and begins it anew over the same folder. @param profile  empty: none.
  void restart(const std::string& profile = {});

  [[nodiscard]] desk::Desk& desk() { return *desk_; }

 private:
  TemporaryFolder folder_;
  std::unique_ptr<desk::Desk> desk_;
  std::unique_ptr<Client> client_;
};

}  // namespace lull::test
