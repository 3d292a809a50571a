#pragma once

#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>

#include "capture/decode_log.h"
#include "capture/frame.h"
#include "capture/libav.h"
#include "capture/packet_source.h"

namespace lull::capture {

/// A frame in its place, or the gap that a damaged one left.
struct DecodedFrame {
  FrameIndex index = 0;
  AvFrame picture;     ///< null: damaged
  double time_s = -1;  ///< since the first frame; negative: not known
};

/// Packets to pictures, in the order of time, every frame at its index. Decoders drop or conceal
/// what they cannot decode, and report it late or only in the log. Here each packet is accounted
/// for.
class FrameStream {
 public:
  /// @throws InputError if libav has no decoder for the stream.
  FrameStream(std::unique_ptr<PacketSource> source, int threads, const std::string& path);

  [[nodiscard]] const PacketSource& source() const { return *source_; }

  [[nodiscard]] std::string codec_name() const;

  [[nodiscard]] bool is_raw() const;

  /// FFV1 before version 3 has neither a global header nor checksums (RFC 9043, section 4.3):
  /// any bytes decode to a picture.
  [[nodiscard]] bool lacks_checksums() const;

  /// The coder may leave out detail that it takes for too faint.
  [[nodiscard]] bool is_lossy() const;

  /// The first packets are key frames, or the codec has no others.
  [[nodiscard]] bool begins_with_keys();

  /// Is every packet read until now decodable on its own? Where the codec does not decide it, the
  /// first packets are read.
  [[nodiscard]] bool probe_intra_only();

  /// The next frame, or nothing at the end.
  [[nodiscard]] std::optional<DecodedFrame> next();

  /// Makes next() give frame `index`. @return false if there is none.
  [[nodiscard]] bool go_to(FrameIndex index);

 private:
  struct Sent {
    std::int64_t pts = kNoTime;
  };

  void restart(PacketIndex packet);
  [[nodiscard]] bool fill();
  [[nodiscard]] bool skip_to(FrameIndex index);
  void advance();
  void feed();
  void accept(AvFrame picture);
  void accept_in_packet_order(AvFrame picture, PacketIndex packet);
  void accept_in_time_order(AvFrame picture, PacketIndex packet);
  void lose_up_to(FrameIndex index);
  void lose_overdue();
  void lose_sent_before(std::int64_t pts, PacketIndex packet);
  void finish();
  void put(AvFrame picture, PacketIndex packet);
  [[nodiscard]] bool is_sound(const AVFrame& picture, PacketIndex packet) const;
  [[nodiscard]] bool seek_by_packet(FrameIndex index);
  [[nodiscard]] double time_of(const AVFrame& picture, PacketIndex packet);

  DecodeLog log_;  // before the decoder, whose threads write to it
  std::unique_ptr<PacketSource> source_;
  CodecContext decoder_;
  Packet packet_;
  bool is_intra_codec_ = false;   ///< by codec: every packet is one whole frame
  bool packet_is_frame_ = false;  ///< by codec: packet n gives frame n
  int delay_packets_ = 0;         ///< that a decoder may hold back
  std::deque<DecodedFrame> ready_;
  FrameIndex next_index_ = 0;         ///< of the next frame that goes to ready_
  std::map<PacketIndex, Sent> sent_;  ///< given to the decoder, no frame yet (time order)
  std::set<PacketIndex> damaged_;     ///< packets known to be damaged
  int unplaced_errors_ = 0;
  int errors_in_a_row_ = 0;
  std::int64_t first_pts_ = kNoTime;
  PacketIndex drain_after_ = -1;  ///< after a seek: decode this packet without waiting for more
  bool draining_ = false;
  bool drained_ = false;  ///< the decoder must be started again before it takes packets
  bool ended_ = false;
};

}  // namespace lull::capture
