#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/tone.h"

namespace lull::report {

/// A picture to show, beside others of the same size.
struct PictureToShow {
  std::string name;         ///< "Finished picture"
  std::string alternative;  ///< what someone who cannot see it should know
  files::PictureView picture;
  files::Transfer transfer = files::Transfer::linear;  ///< screen: values from 0 to 1
  std::optional<finish::Levels> levels = {};           ///< of light; none = finish::levels_of()
};

enum class Coding {
  png,   ///< nothing is lost
  jpeg,  ///< of quality 92
};

struct PictureSet {
  std::vector<std::string> uris;  ///< data URIs, in the order given
  int reduction = 1;              ///< by which the pictures were made smaller
  Coding coding = Coding::png;
  finish::Levels levels;
};

/// Pictures as data URIs that together stay under `most_bytes`: PNG where that fits, else JPEG,
/// else the same of smaller pictures. Linear pictures share the levels of the last one
/// that is linear, so that brightness can be compared. Same bytes for any number of threads.
[[nodiscard]] PictureSet picture_set(const std::vector<PictureToShow>& pictures,
                                     std::size_t most_bytes);

}  // namespace lull::report
