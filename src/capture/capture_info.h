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
  bool cfa_doubtful = false;  ///< the first frames contradict `cfa`; a note says how
  Chroma chroma;              ///< of Colour::yuv
  SampleType sample_type = SampleType::u8;
  int stored_bits = 8;             ///< of one sample in memory: 8 or 16
  int true_bits = 8;               ///< bits the sensor used, from the header or the data
  bool high_aligned = false;       ///< true: the used bits are the high ones of the stored word
  SampleScale scale;               ///< stored integer -> light, 1.0 = full scale of true_bits
  double full_scale = 255;         ///< stored value at which a sample counts as saturated
  std::int64_t header_frames = 0;  ///< stated by the header, 0 = not stated; not reliable
  std::int64_t likely_frames = 0;  ///< by the header, or by duration and rate; 0 = not known
  double frames_per_s = 0;         ///< 0 = not known
  bool has_times = false;          ///< Frame::time_s is in the file, or follows from the rate
  std::optional<Utc> begun{};      ///< when frame 0 was exposed
  std::vector<double> later_begins_s{};  ///< of several captures in one: times of the later ones
  std::string begun_source{};            ///< its source, such as "time stamps of the frames"
  std::string timecode{};                ///< of frame 0, hours:minutes:seconds:frames; empty = none
  double exposure_s = 0;                 ///< of a frame, by the file; 0 = not known
  bool intra_only = false;  ///< every frame is coded on its own: reads by index are exact and cheap
  bool cheap_to_decode = false;  ///< raw samples: decoding again costs no more than reading
  std::vector<std::string>
      notes;  ///< what was done that a user should know ("colour is not used ...")
};

/// When a frame of that Frame::time_s was exposed; none where the file does not state it.
[[nodiscard]] std::optional<Utc> utc_of(const CaptureInfo& info, double time_s);

}  // namespace lull::capture
