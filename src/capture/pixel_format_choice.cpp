#include "capture/pixel_format_choice.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>
#include <utility>

#include "capture/pixel_layout.h"
#include "core/error.h"

namespace lull::capture {

namespace {

/// Packets read before the format is refused.
constexpr int kProbedPackets = 16;
/// AVI fills the rows of uncompressed pictures up to this.
constexpr int kRowUnit = 4;

/// Bytes of a frame, and of its rows where a container may have filled them up.
struct FrameBytes {
  int rows = 0;
  int row = 0;         ///< without filling; 0: several planes, which are never filled
  int filled_row = 0;  ///< a multiple of kRowUnit
  int frame = 0;       ///< without filling

  [[nodiscard]] bool fits(int bytes) const { return bytes == frame || is_filled(bytes); }

  [[nodiscard]] bool is_filled(int bytes) const {
    return row > 0 && filled_row != row && bytes == filled_row * rows;
  }
};

[[nodiscard]] FrameBytes bytes_of(AVPixelFormat format, const AVCodecParameters& codec) {
  FrameBytes bytes;
  bytes.rows = codec.height;
  bytes.frame = std::max(av_image_get_buffer_size(format, codec.width, codec.height, 1), 0);
  if (av_pix_fmt_count_planes(format) == 1) {
    bytes.row = std::max(av_image_get_linesize(format, codec.width, 0), 0);
    bytes.filled_row = (bytes.row + kRowUnit - 1) / kRowUnit * kRowUnit;
  }
  return bytes;
}

void close_up_rows(AVPacket& packet, const FrameBytes& bytes) {
  if (av_packet_make_writable(&packet) < 0) throw std::bad_alloc();
  for (int y = 1; y < bytes.rows; ++y) {
    std::memmove(packet.data + static_cast<std::ptrdiff_t>(y) * bytes.row,
                 packet.data + static_cast<std::ptrdiff_t>(y) * bytes.filled_row,
                 static_cast<std::size_t>(bytes.row));
  }
  av_shrink_packet(&packet, bytes.frame);
}

class RawSource final : public PacketSource {
 public:
  RawSource(std::unique_ptr<PacketSource> source, AVPixelFormat format)
      : source_(std::move(source)),
        codec_(owned<CodecParameters>(avcodec_parameters_alloc())),
        bytes_(bytes_of(format, source_->codec())) {
    if (avcodec_parameters_copy(codec_.get(), &source_->codec()) < 0) throw std::bad_alloc();
    codec_->codec_id = AV_CODEC_ID_RAWVIDEO;
    codec_->codec_tag = 0;  // by which the decoder would choose another format
    codec_->format = format;
    codec_->bits_per_coded_sample = av_get_bits_per_pixel(av_pix_fmt_desc_get(format));
  }

  [[nodiscard]] const StreamFacts& facts() const override { return source_->facts(); }

  [[nodiscard]] const AVCodecParameters& codec() const override { return *codec_; }

  [[nodiscard]] bool read(AVPacket& packet) override {
    if (!source_->read(packet)) return false;
    if (bytes_.is_filled(packet.size)) close_up_rows(packet, bytes_);
    if (packet.size != bytes_.frame) packet.flags |= AV_PKT_FLAG_CORRUPT;
    packet.flags |= AV_PKT_FLAG_KEY;
    return true;
  }

  [[nodiscard]] PacketIndex position() const override { return source_->position(); }

  [[nodiscard]] bool go_to(PacketIndex index) override { return source_->go_to(index); }

  [[nodiscard]] PacketIndex key_before(PacketIndex index) const override { return index; }

  [[nodiscard]] double time_s(PacketIndex index) const override { return source_->time_s(index); }

 private:
  std::unique_ptr<PacketSource> source_;
  CodecParameters codec_;
  FrameBytes bytes_;
};

/// Reason against the choice; empty if there is none. Leaves the source at its first packet.
[[nodiscard]] std::string reason_against(PacketSource& source, AVPixelFormat format) {
  const AVCodecParameters& codec = source.codec();
  if (codec.codec_id != AV_CODEC_ID_RAWVIDEO && codec.codec_id != AV_CODEC_ID_NONE) {
    return fmt::format("its frames are coded as {}, which has its own pixel format",
                       avcodec_get_name(codec.codec_id));
  }
  const FrameBytes bytes = bytes_of(format, codec);
  const auto packet = owned<Packet>(av_packet_alloc());
  int seen = 0;
  int first_size = 0;
  bool fits = false;
  while (!fits && seen < kProbedPackets && source.read(*packet)) {
    if (seen++ == 0) first_size = packet->size;
    fits = bytes.fits(packet->size);
  }
  static_cast<void>(source.go_to(0));
  // Without any packet nothing can be misread; reading the frames reports that.
  if (fits || seen == 0) return {};
  return fmt::format(
      "a frame of {} x {} px takes {} bytes in this format, the frames of the file have {}",
      codec.width, codec.height, bytes.frame, first_size);
}

}  // namespace

std::vector<std::string> readable_pixel_formats() {
  std::vector<std::string> names;
  for (const AVPixFmtDescriptor* format = av_pix_fmt_desc_next(nullptr); format != nullptr;
       format = av_pix_fmt_desc_next(format)) {
    if (is_readable(av_pix_fmt_desc_get_id(format))) names.emplace_back(format->name);
  }
  return names;
}

std::unique_ptr<PacketSource> read_as(const std::string& pixel_format,
                                      std::unique_ptr<PacketSource> source, const std::string& path,
                                      Misfit misfit) {
  const AVPixelFormat format = av_get_pix_fmt(pixel_format.c_str());
  if (format == AV_PIX_FMT_NONE || !is_readable(format)) {
    throw UsageError(
        fmt::format("--pixel-format {}: no pixel format of that name can be read", pixel_format));
  }
  const std::string reason = reason_against(*source, format);
  if (reason.empty()) return std::make_unique<RawSource>(std::move(source), format);
  if (misfit == Misfit::left_out) return source;
  throw UsageError(fmt::format("{}: --pixel-format {} does not apply to this capture: {}.", path,
                               pixel_format, reason));
}

}  // namespace lull::capture
