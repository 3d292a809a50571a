#pragma once

#include <chrono>
#include <map>
#include <string>
#include <vector>

#include "capture/folder.h"

namespace lull::night {

/// Tells captures that are still written from those that are complete, by their lengths at
/// different moments of a clock that does not jump. The clock of the files has one say: one that
/// was last written long ago is complete at once.
class Growth {
 public:
  using Clock = std::chrono::steady_clock;

  /// So long without a change, a capture is complete.
  static constexpr std::chrono::seconds kStill{3};

  /// A file that was written last so long ago is complete; one from the future is looked at.
  static constexpr std::int64_t kOld_s = 10;

  /// What the folder shows now. @param now_s  since 1970, by the clock of the files.
  void look(const std::vector<capture::FoundCapture>& captures, Clock::time_point now,
            std::int64_t now_s);

  /// Whether it may still grow, as last looked at.
  [[nodiscard]] bool may_grow(const std::string& path) const;

 private:
  struct Seen {
    std::uintmax_t bytes = 0;
    std::int64_t modified_s = 0;
    std::int64_t pictures = 0;
    Clock::time_point since{};
    bool is_still = false;
  };

  std::map<std::string, Seen> seen_;
};

}  // namespace lull::night
