#include "capture/fits_source.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>
#include <span>
#include <utility>

#include "capture/fits_image.h"
#include "capture/fits_values.h"
#include "capture/limits.h"
#include "core/cancel.h"
#include "core/error.h"
#include "files/failure.h"

namespace lull::capture {

namespace {

constexpr double kTopWord = 65535;

[[nodiscard]] AVPixelFormat pixel_format_of(const FitsHeader& header) {
  const bool bytes = header.kind == FitsKind::bytes;
  if (header.planes == 3) return bytes ? AV_PIX_FMT_GBRP : AV_PIX_FMT_GBRP16LE;
  switch (header.cfa) {
    case Cfa::none:
      break;
    case Cfa::rggb:
      return bytes ? AV_PIX_FMT_BAYER_RGGB8 : AV_PIX_FMT_BAYER_RGGB16LE;
    case Cfa::bggr:
      return bytes ? AV_PIX_FMT_BAYER_BGGR8 : AV_PIX_FMT_BAYER_BGGR16LE;
    case Cfa::gbrg:
      return bytes ? AV_PIX_FMT_BAYER_GBRG8 : AV_PIX_FMT_BAYER_GBRG16LE;
    case Cfa::grbg:
      return bytes ? AV_PIX_FMT_BAYER_GRBG8 : AV_PIX_FMT_BAYER_GRBG16LE;
  }
  return bytes ? AV_PIX_FMT_GRAY8 : AV_PIX_FMT_GRAY16LE;
}

/// How values become 16-bit words: word = (value - low) * words_per_value.
struct Words {
  double low = 0;
  double words_per_value = 1;
  std::optional<SampleScale> scale;  ///< not set: words are the values, their depth is open

  [[nodiscard]] std::uint16_t of(float value) const {
    if (!std::isfinite(value)) return 0;
    const double word = (static_cast<double>(value) - low) * words_per_value;
    return static_cast<std::uint16_t>(std::lround(std::clamp(word, 0.0, kTopWord)));
  }
};

/// Whole numbers that words can hold stay what they are. Other values: full scale is 1, or the
/// smallest power of two that holds the highest.
[[nodiscard]] Words words_for(const FitsRange& range) {
  if (range.integral && range.lowest >= 0 && range.highest > 1 && range.highest <= kTopWord)
    return {};
  double white = 1;
  while (white < range.highest) white *= 2;
  const double span = white - range.lowest;
  const double words_per_value = kTopWord / span;
  return {range.lowest, words_per_value,
          SampleScale{-range.lowest * words_per_value, 1.0 / (words_per_value * white)}};
}

class FitsSource final : public PacketSource {
 public:
  FitsSource(std::vector<std::string> paths, const std::string& shown_path)
      : paths_(std::move(paths)), codec_(owned<CodecParameters>(avcodec_parameters_alloc())) {
    image_ = std::make_unique<FitsImage>(paths_.front());
    header_ = image_->header();
    frames_ = is_sequence() ? static_cast<PacketIndex>(paths_.size()) : header_.whole_frames;
    check_frame_count(shown_path, frames_);
    times_.assign(is_sequence() ? paths_.size() : 0, -1.0);
    check_bytes(shown_path);
    set_codec();
    set_facts();
    if (header_.kind == FitsKind::others) look_at_values();
  }

  [[nodiscard]] const StreamFacts& facts() const override { return facts_; }

  [[nodiscard]] const AVCodecParameters& codec() const override { return *codec_; }

  [[nodiscard]] bool read(AVPacket& packet) override;

  [[nodiscard]] PacketIndex position() const override { return position_; }

  [[nodiscard]] bool go_to(PacketIndex index) override {
    position_ = std::clamp<PacketIndex>(index, 0, frames_);
    return position_ == index && index < frames_;
  }

  [[nodiscard]] PacketIndex key_before(PacketIndex index) const override { return index; }

  [[nodiscard]] double time_s(PacketIndex index) const override {
    return is_sequence() ? times_[static_cast<std::size_t>(index)] : -1;
  }

 private:
  [[nodiscard]] bool is_sequence() const { return paths_.size() > 1; }

  [[nodiscard]] std::size_t samples() const { return static_cast<std::size_t>(header_.samples()); }

  [[nodiscard]] std::size_t frame_bytes() const {
    return samples() * (header_.kind == FitsKind::bytes ? 1 : 2);
  }

  void check_bytes(const std::string& shown_path) const {
    constexpr std::size_t kMost = std::numeric_limits<int>::max() - AV_INPUT_BUFFER_PADDING_SIZE;
    if (frame_bytes() <= kMost) return;
    throw InputError(fmt::format("{}: frames of {} x {} px are too large.", shown_path,
                                 header_.size.width_px, header_.size.height_px));
  }

  void set_codec();
  void set_facts();
  void look_at_values();
  [[nodiscard]] bool open(PacketIndex index);
  [[nodiscard]] bool read_samples(PacketIndex index, std::span<std::uint8_t> into);
  template <class T>
  [[nodiscard]] bool read_into(std::int64_t frame, std::span<std::uint8_t> bytes);

  std::vector<std::string> paths_;
  std::unique_ptr<FitsImage> image_;  ///< the one that was read last
  PacketIndex opened_ = 0;            ///< its place in paths_
  FitsHeader header_;
  CodecParameters codec_;
  StreamFacts facts_;
  Words words_;
  PacketIndex frames_ = 0;
  PacketIndex position_ = 0;
  std::vector<double> times_;  ///< of the pictures of a sequence that were opened
};

void FitsSource::set_codec() {
  codec_->codec_type = AVMEDIA_TYPE_VIDEO;
  codec_->codec_id = AV_CODEC_ID_RAWVIDEO;
  codec_->format = pixel_format_of(header_);
  codec_->width = header_.size.width_px;
  codec_->height = header_.size.height_px;
  codec_->bits_per_coded_sample =
      av_get_bits_per_pixel(av_pix_fmt_desc_get(static_cast<AVPixelFormat>(codec_->format)));
}

void FitsSource::set_facts() {
  facts_.container = "fits";
  facts_.header_frames = is_sequence() ? frames_ : header_.frames;
  facts_.times.begun = header_.date;
  facts_.times.begun_source = "DATE-OBS in the header";
  facts_.times.exposure_s = header_.exposure_s;
  if (!header_.mismatch.empty()) facts_.notes.push_back(header_.mismatch);
  if (is_sequence() && header_.frames > 1)
    facts_.notes.push_back("only the first picture of each FITS file is used");
  // In a sequence each picture may have its own date of exposure.
  if (!is_sequence() || !header_.date) return;
  if (!open(frames_ - 1)) return;
  const double span_s = times_.back();
  facts_.times.known = span_s > 0;
  if (facts_.times.known) facts_.times.frames_per_s = static_cast<double>(frames_ - 1) / span_s;
}

void FitsSource::look_at_values() {
  FitsRange range;
  std::vector<float> values(samples());
  for (PacketIndex i = 0; i < frames_; ++i) {
    stop_if_cancelled();
    if (open(i) && image_->read(is_sequence() ? 0 : i, values)) range.add(values);
  }
  words_ = words_for(range);
  facts_.scale = words_.scale;
  if (range.undefined > 0) {
    facts_.notes.push_back(fmt::format(
        "{} samples have no value; they get that of their surroundings", range.undefined));
  }
  if (std::string warning = range.warning(); !warning.empty())
    facts_.notes.push_back(std::move(warning));
}

/// Makes image_ the one that holds frame `index`. @return false if it is missing or another kind.
bool FitsSource::open(PacketIndex index) {
  if (!is_sequence()) return true;
  const auto at = static_cast<std::size_t>(index);
  if (paths_[at].empty()) return false;
  if (index != opened_ || !image_) {
    image_.reset();
    opened_ = index;
    try {
      image_ = std::make_unique<FitsImage>(paths_[at]);
    } catch (const files::ReadError&) {
      throw;  // the disk failed: no damaged frame
    } catch (const InputError&) {
      return false;
    }
  }
  const FitsHeader& header = image_->header();
  if (header_.date && header.date) times_[at] = seconds_between(*header_.date, *header.date);
  return header.size == header_.size && header.planes == header_.planes &&
         header.kind == header_.kind && header.whole_frames > 0;
}

/// Samples in the order of libav: planes of green, blue, red.
template <class T>
bool FitsSource::read_into(std::int64_t frame, std::span<std::uint8_t> bytes) {
  std::vector<T> samples(this->samples());
  if (!image_->read(frame, samples)) return false;
  if (header_.planes == 3) {
    const auto plane = static_cast<std::ptrdiff_t>(samples.size() / 3);
    std::rotate(samples.begin(), samples.begin() + plane, samples.end());
  }
  if constexpr (std::is_floating_point_v<T>) {
    const auto plane = samples.size() / static_cast<std::size_t>(header_.planes);
    for (std::size_t at = 0; at < samples.size(); at += plane) {
      const std::span<float> values(samples.data() + at, plane);
      if (std::any_of(values.begin(), values.end(), [](float v) { return !std::isfinite(v); }))
        fill_undefined(values, header_.size.width_px, header_.cfa == Cfa::none ? 1 : 2);
    }
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const std::uint16_t word = words_.of(samples[i]);
      std::memcpy(bytes.data() + 2 * i, &word, sizeof word);
    }
  } else {
    std::memcpy(bytes.data(), samples.data(), bytes.size());
  }
  return true;
}

bool FitsSource::read_samples(PacketIndex index, std::span<std::uint8_t> into) {
  if (!open(index)) return false;
  const std::int64_t frame = is_sequence() ? 0 : index;
  switch (header_.kind) {
    case FitsKind::bytes:
      return read_into<std::uint8_t>(frame, into);
    case FitsKind::words:
      return read_into<std::uint16_t>(frame, into);
    case FitsKind::others:
      break;
  }
  return read_into<float>(frame, into);
}

bool FitsSource::read(AVPacket& packet) {
  av_packet_unref(&packet);
  if (position_ >= frames_) return false;
  if (av_new_packet(&packet, static_cast<int>(frame_bytes())) < 0) throw std::bad_alloc();
  const std::span<std::uint8_t> into(packet.data, static_cast<std::size_t>(packet.size));
  if (!read_samples(position_, into)) {
    av_packet_unref(&packet);
    packet.flags |= AV_PKT_FLAG_CORRUPT;
  }
  packet.flags |= AV_PKT_FLAG_KEY;
  packet.pts = packet.dts = position_;
  ++position_;
  return true;
}

}  // namespace

std::unique_ptr<PacketSource> open_fits(std::vector<std::string> paths,
                                        const std::string& shown_path) {
  return std::make_unique<FitsSource>(std::move(paths), shown_path);
}

}  // namespace lull::capture
