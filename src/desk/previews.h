#pragma once

#include <functional>

#include "desk/recent.h"
#include "desk/result_index.h"
#include "run/finish_preview.h"

namespace lull::desk {

/// Results that are open for tuning: the last few, as far as their memory goes. Any thread; one
/// request works on a result at a time.
class Previews {
 public:
  static constexpr std::size_t kMostOpen = 3;
  static constexpr double kMostBytes = 2e9;  ///< of all but the one in use

  using Work = std::function<void(run::FinishPreview&)>;

  /// Opens the result unless it is, waits for other requests to end, and works on it.
  /// @param is_gone  whether nobody waits for the answer any more: then nothing is done.
  /// @throws Problem 409: it has no linear stack; and what opening it and `work` throw.
  void use(const ResultIndex& index, const Result& result, const std::function<bool()>& is_gone,
           const Work& work);

 private:
  void make_room();

  Recent<run::FinishPreview> recent_;
};

}  // namespace lull::desk
