#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "capture/chroma.h"
#include "capture/frame.h"
#include "core/utc.h"

namespace lull::capture {

/// What is known of a capture once it is open (from the header and its first frames).
struct CaptureInfo {
  std::string path;
  std::string container;     ///< libav's name, e.g. "avi"
  std::string codec;         ///< e.g. "rawvideo", "ffv1"
  std::string pixel_format;  ///< as stored, libav's name, e.g. "gray12le"
  Size size;                 ///< upright: rotation metadata is applied
  int rotation_deg = 0;      ///< clockwise turn that was applied: 0, 90, 180 or 270
  Colour colour = Colour::mono;
  Cfa cfa = Cfa::none;
  bool mosaic_doubted = false;  ///< the first frames speak against `cfa`; a note says what
  Chroma chroma;                ///< of Colour::yuv
  SampleType sample_type = SampleType::u8;
  int stored_bits = 8;             ///< of one sample in memory: 8 or 16
  int true_bits = 8;               ///< bits the sensor used, from the header or the data
  bool high_aligned = false;       ///< true: the used bits stand at the high end of the stored word
  SampleScale scale;               ///< stored integer -> light, 1.0 = full scale of true_bits
  double full_scale = 255;         ///< stored value at which a sample counts as saturated
  std::int64_t header_frames = 0;  ///< the header's word, 0 = says nothing; not to be relied on
  double frames_per_s = 0;         ///< 0 = not known
  bool has_times = false;          ///< Frame::time_s is told by the file, or follows from the rate
  std::optional<Utc> begun{};      ///< when frame 0 was exposed
  std::string begun_source{};      ///< what tells it, such as "time stamps of the frames"
  std::string timecode{};          ///< of frame 0, hours:minutes:seconds:frames; empty = none
  double exposure_s = 0;           ///< of a frame, by the file; 0 = not known
  bool intra_only = false;  ///< every frame stands alone, so by-index reads are exact and cheap
  bool cheap_to_decode = false;  ///< raw samples: decoding again costs no more than reading
  std::vector<std::string>
      notes;  ///< what was done that a user should know ("colour is not used ...")
};

/// When a frame of that Frame::time_s was exposed; nothing where the file does not tell.
[[nodiscard]] std::optional<Utc> utc_of(const CaptureInfo& info, double time_s);

}  // namespace lull::capture
