#pragma once

#include <optional>
#include <vector>

#include "files/picture.h"
#include "judge/artifacts.h"
#include "judge/measures.h"
#include "judge/truth.h"

namespace lull::judge {

struct JudgeOptions {
  std::optional<double> scale;  ///< 1 to 3; without it the best fitting one of kScales is found
};

/// Figures of one channel, and the pictures they were measured on.
struct ChannelVerdict {
  Measures measures;
  double distortion_rms_px = 0;  ///< smooth displacement against the truth, mean removed
  Measures without_distortion;   ///< after the truth followed that displacement
  double ringing = 0;            ///< see artifacts.h; share of the contrast at edges
  double seam = 0;               ///< see artifacts.h; share of the truth's peak
  EdgeError edge;                ///< see artifacts.h; of the whole picture
  Displacement shift;            ///< of this channel, px
  Image truth;                   ///< moved to the picture
  Image fitted;                  ///< the picture in the truth's units
};

struct Verdict {
  double scale = 1;
  Displacement shift;  ///< px at scale 1: truth place p is seen at p + shift
  double coarse_correlation = 0;
  double coverage = 0;                   ///< share of the truth's box that the picture shows
  std::vector<ChannelVerdict> channels;  ///< 3 when picture and truth are in colour, otherwise 1
};

/// Judges a picture: finds scale and place blindly, then measures every channel where it shows the
/// truth's box. A grey picture is judged against the mean of the truth's channels, a colour picture
/// of a grey scene by its own mean.
/// @throws InputError when the picture is too small or too large for this
///         truth, or does not show its scene. Seconds for a megapixel; one thread.
[[nodiscard]] Verdict judge(const files::Picture& picture, const Truth& truth,
                            const JudgeOptions& options = {});

}  // namespace lull::judge
