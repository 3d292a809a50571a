#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture_times.h"
#include "capture/libav.h"
#include "capture/open_options.h"

namespace lull::capture {

/// Position of a packet of the video stream, in the order of the file, from 0.
using PacketIndex = std::int64_t;

/// What a container states about its video stream.
struct StreamFacts {
  std::string container;
  CaptureTimes times;
  AVRational time_base{0, 1};  ///< of the packets' time stamps; 0 = not known
  std::int64_t header_frames = 0;
  double duration_s = 0;             ///< by the container; 0 = not stated
  int bits_per_sample = 0;           ///< 0 = not stated
  std::optional<SampleScale> scale;  ///< of samples that were made of other values
  int quarters = 0;                  ///< clockwise quarter turns that set the picture upright
  std::vector<std::string> notes;
};

/// The packets of a capture's video stream.
class PacketSource {
 public:
  virtual ~PacketSource() = default;

  [[nodiscard]] virtual const StreamFacts& facts() const = 0;

  [[nodiscard]] virtual const AVCodecParameters& codec() const = 0;

  /// Reads packet position(). @return false at the end.
  /// @throws InputError when the disk fails.
  [[nodiscard]] virtual bool read(AVPacket& packet) = 0;

  /// Index of the packet that the next read() gives.
  [[nodiscard]] virtual PacketIndex position() const = 0;

  /// Makes position() be `index`, exactly. @return false if there is no such packet.
  [[nodiscard]] virtual bool go_to(PacketIndex index) = 0;

  /// Last packet up to `index`, which must have been passed, that needs no earlier one.
  [[nodiscard]] virtual PacketIndex key_before(PacketIndex index) const = 0;

  /// Time of a packet that was passed, since the first; negative if not known.
  [[nodiscard]] virtual double time_s(PacketIndex index) const = 0;
};

/// Opens a video file. @throws InputError
[[nodiscard]] std::unique_ptr<PacketSource> open_container(const std::string& path,
                                                           const OpenOptions& options);

}  // namespace lull::capture
