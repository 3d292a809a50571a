#include "capture/frame_stream.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "capture/limits.h"
#include "core/cancel.h"
#include "core/error.h"

namespace lull::capture {

namespace {

/// Decoding on is cheaper than a seek up to this many frames.
constexpr FrameIndex kDecodeOn = 4;
/// Packets looked at for key flags where the codec may go either way.
constexpr PacketIndex kProbedPackets = 16;
/// Pictures that a decoder may hold back for reordering: 16 by H.264 (ITU-T H.264 table A-1),
/// twice.
constexpr PacketIndex kMaxReorder = 32;
constexpr int kMaxErrorsInARow = 100'000;

/// The four characters by which a container names a codec.
[[nodiscard]] std::string tag_text(std::uint32_t tag) {
  std::array<char, AV_FOURCC_MAX_STRING_SIZE> text{};
  return av_fourcc_make_string(text.data(), tag);
}

[[nodiscard]] CodecContext open_decoder(const AVCodecParameters& parameters, AVRational time_base,
                                        int threads, const std::string& path, DecodeLog& log,
                                        DamageSigns signs) {
  const AVCodec* codec = avcodec_find_decoder(parameters.codec_id);
  if (codec == nullptr && parameters.codec_id == AV_CODEC_ID_NONE) {
    throw InputError(
        fmt::format("{}: the codec of its frames is unknown (tag '{}'). If they are raw samples, "
                    "name their format, for example --pixel-format gray16le or bayer_rggb8.",
                    path, tag_text(parameters.codec_tag)));
  }
  if (codec == nullptr) {
    throw InputError(fmt::format(
        "{}: frames are coded as {}, for which there is no decoder. Convert the capture, "
        "for example to FFV1 in Matroska.",
        path, avcodec_get_name(parameters.codec_id)));
  }
  auto decoder = owned<CodecContext>(avcodec_alloc_context3(codec));
  if (avcodec_parameters_to_context(decoder.get(), &parameters) < 0) throw std::bad_alloc();
  decoder->pkt_timebase = time_base;
  decoder->max_pixels = kMaxAreaPx;
  decoder->thread_count = decoder_threads({parameters.width, parameters.height}, threads);
  decoder->err_recognition = AV_EF_CRCCHECK;
  // Frames that libav knows to be damaged are wanted too: they are counted, not lost.
  decoder->flags |= AV_CODEC_FLAG_OUTPUT_CORRUPT;
  log.listen(*decoder, signs);  // before it is opened, which copies it for its threads
  const int error = avcodec_open2(decoder.get(), codec, nullptr);
  if (error == kNoMemory) throw std::bad_alloc();
  if (error < 0) {
    throw InputError(fmt::format("{}: frames are coded as {}, but cannot be decoded ({}).", path,
                                 codec->name, error_text(error)));
  }
  return decoder;
}

/// An FFV1 packet of version 3 ends with the size of its last slice, flags and a checksum (RFC
/// 9043, section 4.9). Where a disk left zeros instead, the checksum of nothing is right, and libav
/// finds no fault; but no slice has a size of nothing.
[[nodiscard]] bool ends_hollow(const AVCodecParameters& codec, const AVPacket& packet) {
  constexpr int kFooterBytes = 8;
  if (codec.codec_id != AV_CODEC_ID_FFV1 || codec.extradata_size == 0) return false;
  if (packet.size < kFooterBytes) return true;
  return std::all_of(packet.data + packet.size - kFooterBytes, packet.data + packet.size,
                     [](std::uint8_t byte) { return byte == 0; });
}

[[nodiscard]] int properties_of(AVCodecID codec) {
  const AVCodecDescriptor* description = avcodec_descriptor_get(codec);
  return description == nullptr ? 0 : description->props;
}

}  // namespace

FrameStream::FrameStream(std::unique_ptr<PacketSource> source, int threads, const std::string& path)
    : source_(std::move(source)), packet_(owned<Packet>(av_packet_alloc())) {
  const AVCodecParameters& parameters = source_->codec();
  const int properties = properties_of(parameters.codec_id);
  is_intra_codec_ = (properties & AV_CODEC_PROP_INTRA_ONLY) != 0;
  // Lossless codecs without reordering (FFV1 with long groups among them) keep to one frame a
  // packet; lossy ones may have packets that are never shown.
  packet_is_frame_ = is_intra_codec_ || ((properties & AV_CODEC_PROP_LOSSLESS) != 0 &&
                                         (properties & AV_CODEC_PROP_REORDER) == 0);
  decoder_ = open_decoder(parameters, source_->facts().time_base, is_raw() ? 1 : threads, path,
                          log_, packet_is_frame_ ? DamageSigns::every_error : DamageSigns::certain);
  if ((decoder_->active_thread_type & FF_THREAD_FRAME) != 0)
    delay_packets_ = decoder_->thread_count;
  if ((decoder_->codec->capabilities & AV_CODEC_CAP_DELAY) != 0) {
    delay_packets_ += static_cast<int>(kMaxReorder);
  }
}

std::string FrameStream::codec_name() const { return avcodec_get_name(source_->codec().codec_id); }

bool FrameStream::is_raw() const { return source_->codec().codec_id == AV_CODEC_ID_RAWVIDEO; }

bool FrameStream::lacks_checksums() const {
  const AVCodecParameters& codec = source_->codec();
  return codec.codec_id == AV_CODEC_ID_FFV1 && codec.extradata_size == 0;
}

bool FrameStream::is_lossy() const {
  const AVCodecDescriptor* codec = avcodec_descriptor_get(source_->codec().codec_id);
  return codec != nullptr && (codec->props & AV_CODEC_PROP_LOSSY) != 0;
}

bool FrameStream::begins_with_keys() {
  if (is_intra_codec_) return true;
  bool all_keys = true;
  restart(0);
  for (PacketIndex i = 0; i < kProbedPackets && source_->read(*packet_); ++i) {
    all_keys = all_keys && (packet_->flags & AV_PKT_FLAG_KEY) != 0;
  }
  restart(0);
  return all_keys;
}

bool FrameStream::probe_intra_only() {
  if (is_intra_codec_ || !packet_is_frame_) return is_intra_codec_;
  return begins_with_keys();
}

std::optional<DecodedFrame> FrameStream::next() {
  stop_if_cancelled();
  if (!fill()) return std::nullopt;
  DecodedFrame frame = std::move(ready_.front());
  ready_.pop_front();
  return frame;
}

/// Works until a frame is ready. @return false at the end.
bool FrameStream::fill() {
  while (ready_.empty() && !ended_) {
    if (drained_) {
      restart(next_index_);
    } else {
      advance();
    }
  }
  return !ready_.empty();
}

bool FrameStream::skip_to(FrameIndex index) {
  while (fill()) {
    stop_if_cancelled();
    if (ready_.front().index == index) return true;
    ready_.pop_front();
  }
  return false;
}

/// Decoding begins anew with this packet, which is the frame of that index (0 in time order).
void FrameStream::restart(PacketIndex packet) {
  avcodec_flush_buffers(decoder_.get());
  log_.forget();
  ready_.clear();
  sent_.clear();
  damaged_.clear();
  unplaced_errors_ = errors_in_a_row_ = 0;
  draining_ = drained_ = false;
  drain_after_ = -1;
  next_index_ = packet;
  ended_ = !source_->go_to(packet);
}

/// One step: a frame out of the decoder, or a packet into it.
void FrameStream::advance() {
  auto picture = owned<AvFrame>(av_frame_alloc());
  const int error = avcodec_receive_frame(decoder_.get(), picture.get());
  if (error >= 0) {
    errors_in_a_row_ = 0;
    accept(std::move(picture));
  } else if (error == kTryAgain && !draining_) {
    feed();
  } else if (error == kEndOfStream || error == kTryAgain) {
    finish();
  } else {
    ++unplaced_errors_;
    if (++errors_in_a_row_ > kMaxErrorsInARow) finish();
  }
}

void FrameStream::feed() {
  const PacketIndex packet = source_->position();
  const bool wanted = drain_after_ < 0 || packet <= drain_after_;
  if (!wanted || !source_->read(*packet_)) {
    draining_ = true;
    avcodec_send_packet(decoder_.get(), nullptr);
    return;
  }
  decoder_->reordered_opaque = packet;
  if (first_pts_ == kNoTime) first_pts_ = packet_->pts;
  const bool corrupt =
      (packet_->flags & AV_PKT_FLAG_CORRUPT) != 0 || ends_hollow(source_->codec(), *packet_);
  if (corrupt) damaged_.insert(packet);
  if (!packet_is_frame_ && (packet_->flags & AV_PKT_FLAG_DISCARD) == 0) {
    sent_[packet] = {packet_->pts};
  }
  // An empty packet would end decoding; of a damaged one on which nothing builds, nothing is
  // wanted.
  if (packet_->size > 0 && !(corrupt && is_intra_codec_)) {
    const int error = avcodec_send_packet(decoder_.get(), packet_.get());
    if (error < 0) ++unplaced_errors_;
  }
  av_packet_unref(packet_.get());  // a raw frame is the memory of its packet, and its only owner
  if (packet_is_frame_) lose_overdue();
}

void FrameStream::accept(AvFrame picture) {
  const PacketIndex packet = picture->reordered_opaque;
  if (packet_is_frame_) {
    accept_in_packet_order(std::move(picture), packet);
  } else {
    accept_in_time_order(std::move(picture), packet);
  }
}

void FrameStream::accept_in_packet_order(AvFrame picture, PacketIndex packet) {
  if (packet < next_index_) return;  // a second picture out of one packet has no index
  lose_up_to(packet);
  put(std::move(picture), packet);
}

void FrameStream::accept_in_time_order(AvFrame picture, PacketIndex packet) {
  const auto sent = sent_.find(packet);
  const std::int64_t pts = sent == sent_.end() ? kNoTime : sent->second.pts;
  if (sent != sent_.end()) sent_.erase(sent);
  lose_sent_before(pts, packet);
  put(std::move(picture), packet);
}

/// Frames before `index` did not come out: damaged.
void FrameStream::lose_up_to(FrameIndex index) {
  while (next_index_ < index) {
    damaged_.insert(next_index_);
    ready_.push_back({next_index_++, nullptr, -1});
  }
}

/// Packets that the decoder can no longer be holding back.
void FrameStream::lose_overdue() { lose_up_to(source_->position() - 1 - delay_packets_); }

/// Packets that should have been shown before this one. Not all of them were meant to be shown,
/// so only as many count as the decoder gave errors. Without time stamps (H.264 in AVI), order is
/// that of the packets but for the frames that the decoder holds back.
void FrameStream::lose_sent_before(std::int64_t pts, PacketIndex packet) {
  for (auto sent = sent_.begin(); sent != sent_.end() && unplaced_errors_ > 0;) {
    const std::int64_t its_pts = sent->second.pts;
    const bool lost = its_pts != kNoTime && pts != kNoTime
                          ? its_pts < pts
                          : sent->first < packet - decoder_->has_b_frames;
    if (!lost) {
      ++sent;
      continue;
    }
    --unplaced_errors_;
    damaged_.insert(sent->first);
    ready_.push_back({next_index_++, nullptr, -1});
    sent = sent_.erase(sent);
  }
}

void FrameStream::finish() {
  if (packet_is_frame_) {
    lose_up_to(source_->position());
  } else {
    for (auto left = sent_.size(); left > 0 && unplaced_errors_ > 0; --left, --unplaced_errors_) {
      ready_.push_back({next_index_++, nullptr, -1});
    }
    sent_.clear();
  }
  // After a seek only the decoder was emptied; the stream goes on.
  if (drain_after_ >= 0) {
    drained_ = true;
  } else {
    ended_ = true;
  }
}

void FrameStream::put(AvFrame picture, PacketIndex packet) {
  const double time = time_of(*picture, packet);
  if (!is_sound(*picture, packet)) {
    damaged_.insert(packet);
    picture.reset();
  }
  ready_.push_back({next_index_++, std::move(picture), time});
}

/// Nothing it was decoded from is damaged: itself, and all since the last key frame.
bool FrameStream::is_sound(const AVFrame& picture, PacketIndex packet) const {
  if ((picture.flags & AV_FRAME_FLAG_CORRUPT) != 0 || picture.decode_error_flags != 0) return false;
  const PacketIndex first = is_intra_codec_ ? packet : source_->key_before(packet);
  const auto found = damaged_.lower_bound(first);
  if (found != damaged_.end() && *found <= packet) return false;
  return !log_.damaged_within(first, packet);
}

double FrameStream::time_of(const AVFrame& picture, PacketIndex packet) {
  if (packet_is_frame_) return source_->time_s(packet);
  if (picture.best_effort_timestamp == kNoTime || first_pts_ == kNoTime) return -1;
  const AVRational base = decoder_->pkt_timebase;
  if (base.num <= 0 || base.den <= 0) return -1;
  return static_cast<double>(picture.best_effort_timestamp - first_pts_) * av_q2d(base);
}

bool FrameStream::go_to(FrameIndex index) {
  const FrameIndex coming = ready_.empty() ? next_index_ : ready_.front().index;
  const bool decode_on = index >= coming && index <= coming + kDecodeOn;
  if (packet_is_frame_ && !decode_on) return seek_by_packet(index);
  if (index < coming) restart(0);
  return skip_to(index);
}

bool FrameStream::seek_by_packet(FrameIndex index) {
  if (!source_->go_to(index)) {
    restart(next_index_);
    return false;
  }
  PacketIndex first = index;
  if (!is_intra_codec_) {
    if (!source_->read(*packet_)) return false;  // its key flag is known once it was read
    first = source_->key_before(index);
  }
  restart(first);
  // A decoder that holds packets back is drained rather than fed with frames that are not needed.
  if (delay_packets_ > 0 && is_intra_codec_) drain_after_ = index;
  return skip_to(index);
}

}  // namespace lull::capture
