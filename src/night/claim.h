#pragma once

#include <chrono>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "core/cancel.h"

namespace lull::night {

/// The right to make one file, on any machine that shares the file system: a lock file beside the
/// records, made under another name and linked, which is atomic on network drives too. Its holder
/// writes to it every few seconds. One whose holder is gone is taken over: on the same machine at
/// once, elsewhere when it stood still for a minute by the clock of the one who waits.
class Claim {
 public:
  /// How long a lock of another machine may stand still.
  static constexpr std::chrono::seconds kPatience{60};

  /// None: somebody else holds it. @throws OutputError: the folder cannot be written.
  [[nodiscard]] static std::unique_ptr<Claim> try_take(const std::filesystem::path& lock);

  /// What a holder that is at work means.
  enum class Holder { is_waited_for, refuses };

  /// Waits until it is free, or until its holder shows that it is at work, and then is null.
  /// @throws Interrupted, OutputError.
  [[nodiscard]] static std::unique_ptr<Claim> take(const std::filesystem::path& lock,
                                                   const CancelToken& cancel, Holder holder);

  ~Claim();
  Claim(const Claim&) = delete;
  Claim& operator=(const Claim&) = delete;

  /// Who holds a lock: "process 123 on ridge"; empty where nobody does.
  [[nodiscard]] static std::string holder(const std::filesystem::path& lock);

 private:
  struct Beat;

  explicit Claim(std::filesystem::path lock);

  std::filesystem::path lock_;
  std::unique_ptr<Beat> beat_;
};

}  // namespace lull::night
