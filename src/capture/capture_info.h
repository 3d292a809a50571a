#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "capture/capture_times.h"
#include "capture/chroma.h"
#include "capture/frame.h"

namespace lull::capture {

/// How a capture is kept on the disk.
struct Storage {
  std::string container;           ///< libav's name, e.g. "avi"
  std::string codec;               ///< e.g. "rawvideo", "ffv1"
  std::string pixel_format;        ///< libav's name, e.g. "gray12le"
  std::int64_t header_frames = 0;  ///< stated by the header, 0 = not stated; not reliable
  std::int64_t likely_frames = 0;  ///< by the header, or by duration and rate; 0 = not known
  bool intra_only = false;  ///< every frame is coded on its own: reads by index are exact and cheap
};

/// The bits of a sample.
struct SampleBits {
  int stored = 8;             ///< in memory: 8 or 16
  int used = 8;               ///< by the sensor, from the header or the data
  bool high_aligned = false;  ///< those are the high ones of the stored word
};

/// What is known of a capture once it is open (from the header and its first frames).
struct CaptureInfo {
  std::string path;
  Storage storage{};
  Size size{};           ///< upright: rotation metadata is applied
  int rotation_deg = 0;  ///< clockwise turn that was applied: 0, 90, 180 or 270
  Colour colour = Colour::mono;
  Cfa cfa = Cfa::none;
  bool cfa_doubtful = false;  ///< the first frames contradict `cfa`; a note says how
  Chroma chroma;              ///< of Colour::yuv
  SampleType sample_type = SampleType::u8;
  SampleBits bits{};
  SampleScale scale{};      ///< stored integer -> light, 1.0 = full scale of bits.used
  double full_scale = 255;  ///< stored value at which a sample counts as saturated
  CaptureTimes times{};
  std::vector<std::string>
      notes;  ///< what was done that a user should know ("colour is not used ...")
};

}  // namespace lull::capture
