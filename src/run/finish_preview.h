#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "finish/raised_noise.h"
#include "run/finish_input.h"
#include "run/finish_picture.h"
#include "run/look.h"

namespace lull::run {

/// A stack opened for trying looks on it. What does not depend on the look is done once, and then
/// only the part that is looked at. One thread.
class FinishPreview {
 public:
  /// A part of the finished picture.
  struct Part {
    Finished finished;               ///< the picture is the part alone
    std::vector<std::string> notes;  ///< as those of run_finish()
  };

  /// @throws InputError as read_finish_input() does.
  explicit FinishPreview(const std::string& path);
  ~FinishPreview();
  FinishPreview(const FinishPreview&) = delete;
  FinishPreview& operator=(const FinishPreview&) = delete;

  [[nodiscard]] const FinishInput& input() const { return input_; }

  [[nodiscard]] Size size() const { return input_.picture.size(); }

  /// Memory that it holds once a part was made, bytes.
  [[nodiscard]] double bytes() const;

  /// A part of what run_finish() makes with this look. The whole picture is the same to the bit,
  /// and a part nearly: see finish::PreparedDetail. Black and white of a part, where the look
  /// leaves them open, are those of the last whole picture of the same colours, or near them.
  /// @param part  within the picture, not empty.
  /// @throws UsageError, NothingUsable as run_finish() does.
  [[nodiscard]] Part part(const Look& asked, const Box& part);

  /// Where this look raises noise, over the picture as it is before it is turned.
  /// @throws UsageError as run_finish() does.
  [[nodiscard]] finish::RaisedNoise raised_noise(const Look& asked);

  /// The stack as it is, light, and how it is best seen.
  [[nodiscard]] Finished stack_part(const Box& part) const;

 private:
  struct Cache;

  [[nodiscard]] Finished whole(const Look& look);
  [[nodiscard]] files::Picture restored_part(const Look& look, const Box& part);
  [[nodiscard]] const finish::Levels& levels_for(const Look& look);

  std::string name_;
  FinishInput input_;
  std::unique_ptr<Cache> cache_;
};

}  // namespace lull::run
