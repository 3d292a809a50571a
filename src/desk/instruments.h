#pragma once

#include <memory>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "profile/profile.h"

namespace lull::desk {

/// A profile that the pages may choose.
struct OfferedProfile {
  std::string name;  ///< as --profile takes it, or the file's name in the folder of the captures
  std::string path;
};

/// The profiles of a desk, and the one that its forms go by. Any thread.
class Instruments {
 public:
  /// @param folder  of the captures: its own *.toml files are offered beside those that have a
  /// name.
  /// @param wanted  by --profile; empty: none. @throws UsageError, InputError.
  Instruments(std::string folder, const std::string& wanted);

  /// In order of their names, the one of --profile first.
  [[nodiscard]] std::vector<OfferedProfile> offered() const;

  /// The profile that holds now; says nothing where none was chosen. Never null.
  [[nodiscard]] std::shared_ptr<const profile::Profile> current() const;

  /// @param name  of one that is offered; empty: none.
  /// @throws Problem 404 where it is not offered; InputError with file and line: the choice stays.
  void choose(const std::string& name);

  /// {"profiles": [names], "chosen": name or null, "title": what the profile calls itself or null}
  [[nodiscard]] nlohmann::json to_json() const;

 private:
  std::string folder_;
  std::optional<OfferedProfile> given_;  ///< by --profile
  mutable std::mutex guard_;
  std::string chosen_;
  std::shared_ptr<const profile::Profile> current_;
};

}  // namespace lull::desk
