#pragma once

#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <string>

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
  struct Open {
    std::string path;
    std::int64_t modified_s = 0;
    std::mutex guard;
    std::unique_ptr<run::FinishPreview> preview;
  };

  [[nodiscard]] std::shared_ptr<Open> entry(const std::string& path, std::int64_t modified_s);
  void make_room();

  std::mutex guard_;
  std::list<std::shared_ptr<Open>> open_;  ///< the last used first
};

}  // namespace lull::desk
