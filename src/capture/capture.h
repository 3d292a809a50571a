#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/chroma.h"
#include "capture/frame.h"
#include "core/outcome.h"
#include "core/utc.h"

namespace lull::capture {

/// Order of the two bytes of a raw sample.
enum class ByteOrder {
  automatic,  ///< the file's word; in SER unless the pictures speak clearly against it
  little,
  big,
};

/// How a capture is to be read, where its file says nothing or something wrong.
struct OpenOptions {
  int decoder_threads = 0;  ///< 0 = as many as the machine has; used by compressed captures
  ByteOrder byte_order = ByteOrder::automatic;
  std::optional<Cfa> cfa{};  ///< of the frames as stored; Cfa::none: no mosaic; not set: as it says
  std::string pixel_format{};  ///< of raw video, libav's name; empty: as it says
  bool lenient = false;  ///< leave out what makes no sense for this file instead of refusing it
};

/// libav's names of the pixel formats that OpenOptions::pixel_format can be.
[[nodiscard]] std::vector<std::string> readable_pixel_formats();

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

/// Names and versions of the libraries that decode, on which the samples of a compressed capture
/// may depend.
[[nodiscard]] std::string decoder_version();

/// A capture opened for reading: file or numbered image sequence (a pattern such as
/// "moon_%04d.png"). Frames in order by next(), or by index through at(). One reader, one thread.
class Capture {
 public:
  /// @throws InputError: missing, not a video, no frame decodable, absurd dimensions.
  /// @throws UsageError: an option that makes no sense for this file (see OpenOptions::lenient).
  [[nodiscard]] static std::unique_ptr<Capture> open(const std::string& path,
                                                     const OpenOptions& options = {});

  virtual ~Capture() = default;

  [[nodiscard]] virtual const CaptureInfo& info() const = 0;

  /// The next frame in order: a frame, Reject::damaged for one that could not be decoded (index
  /// is spent), or Reject::past_the_end.
  [[nodiscard]] virtual Outcome<Frame> next() = 0;

  /// Back to frame 0.
  virtual void rewind() = 0;

  /// Frame of that index, exact. Rising indices are cheap; others seek (intra-only) or decode
  /// again from the start. next() goes on after it.
  [[nodiscard]] virtual Outcome<Frame> at(FrameIndex index) = 0;

  /// Frames spent so far in order, and how many of them were damaged.
  struct Tally {
    FrameIndex frames = 0;
    FrameIndex damaged = 0;
  };

  [[nodiscard]] virtual Tally tally() const = 0;
};

}  // namespace lull::capture
