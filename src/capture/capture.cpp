#include "capture/capture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <thread>
#include <utility>

#include "capture/bit_depth.h"
#include "capture/cfa_check.h"
#include "capture/frame_stream.h"
#include "capture/image_sequence.h"
#include "capture/layout_choice.h"
#include "capture/libav.h"
#include "capture/limits.h"
#include "capture/pixel_format_choice.h"
#include "capture/pixel_layout.h"
#include "capture/rotation.h"
#include "capture/unpack.h"
#include "core/error.h"

namespace lull::capture {

namespace {

/// Frames that are looked at to find the true bit depth, and whether there is colour.
constexpr int kFirstFrames = 8;
/// The pattern of colour filters is seen in fewer.
constexpr int kMosaicFrames = 2;
/// A capture whose first frames are all damaged is given up after this many.
constexpr int kMaxDamagedAtStart = 256;

[[nodiscard]] std::unique_ptr<PacketSource> open_source(const std::string& path,
                                                        const OpenOptions& options) {
  std::error_code error;
  // A file of exactly that name comes first: '%' may occur in ordinary names.
  const auto pattern = std::filesystem::exists(path, error) ? std::nullopt : parse_pattern(path);
  auto source = pattern ? open_sequence(*pattern, path) : open_container(path, options);
  if (options.pixel_format.empty()) return source;
  return read_as(options.pixel_format, std::move(source), path, options.misfit);
}

[[nodiscard]] int thread_count(const OpenOptions& options) {
  constexpr int kMostThreads = 16;  // more than that libav itself advises against
  const int machine = static_cast<int>(std::thread::hardware_concurrency());
  const int wanted = options.decoder_threads > 0 ? options.decoder_threads : machine;
  return std::clamp(wanted, 1, kMostThreads);
}

/// Rotation that came with the first picture instead of the container.
[[nodiscard]] int quarters_of_picture(const AVFrame& picture) {
  const AVFrameSideData* side = av_frame_get_side_data(&picture, AV_FRAME_DATA_DISPLAYMATRIX);
  if (side == nullptr) return 0;
  return quarters_of_display_matrix(side->data).value_or(0);
}

template <class T>
[[nodiscard]] bool rows_are_all(const SampleView& samples, T value) {
  for (int y = 0; y < samples.height_px; ++y) {
    const T* row = samples.row<T>(y);
    if (std::any_of(row, row + samples.width_px, [value](T s) { return s != value; })) return false;
  }
  return true;
}

[[nodiscard]] bool is_all(const SampleView& samples, double value) {
  return samples.type == SampleType::u8 ? rows_are_all(samples, static_cast<std::uint8_t>(value))
                                        : rows_are_all(samples, static_cast<std::uint16_t>(value));
}

[[nodiscard]] bool has_colour(const Frame& frame, const Chroma& chroma) {
  return !is_all(frame.chroma[0], chroma.scale.black) ||
         !is_all(frame.chroma[1], chroma.scale.black);
}

class VideoCapture final : public Capture {
 public:
  VideoCapture(const std::string& path, const OpenOptions& options)
      : stream_(open_source(path, options), thread_count(options), path) {
    info_.path = path;
    const AVCodecParameters& codec = stream_.source().codec();
    if (options.check_size) options.check_size(path, {codec.width, codec.height});
    learn_from_container();
    learn_from_frames(options);
    rewind();
  }

  [[nodiscard]] const CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<Frame> next() override {
    Outcome<Frame> outcome = take();
    if (outcome.ok() || outcome.reason() == Reject::damaged) {
      ++tally_.frames;
      if (!outcome.ok()) ++tally_.damaged;
    }
    return outcome;
  }

  void rewind() override {
    tally_ = {};
    at_end_ = !stream_.go_to(0);
  }

  [[nodiscard]] Outcome<Frame> at(FrameIndex index) override {
    at_end_ = index < 0 || !stream_.go_to(index);
    return take();
  }

  [[nodiscard]] Tally tally() const override { return tally_; }

 private:
  void learn_from_container();
  void learn_from_frames(const OpenOptions& options);
  [[nodiscard]] AvFrame first_picture();
  void learn_layout(const AVFrame& first, const OpenOptions& options);
  template <class Visit>
  void look_at_first_frames(AvFrame first, const Visit& visit);
  [[nodiscard]] TrueDepth known_depth() const;
  [[nodiscard]] TrueDepth depth_from(const BitDepthEstimator& estimator);
  void set_depth(const TrueDepth& depth);
  [[nodiscard]] bool fits(const AVFrame& picture) const;
  [[nodiscard]] Outcome<Frame> take();

  FrameStream stream_;
  CaptureInfo info_;
  PixelLayout layout_;
  int format_ = AV_PIX_FMT_NONE;
  Size stored_size_;  ///< before rotation
  int quarters_ = 0;
  bool at_end_ = false;
  Tally tally_;
};

void VideoCapture::learn_from_container() {
  const StreamFacts& facts = stream_.source().facts();
  info_.storage.container = facts.container;
  info_.storage.codec = stream_.codec_name();
  info_.storage.header_frames = facts.header_frames;
  info_.storage.likely_frames =
      facts.header_frames > 0 ? facts.header_frames
                              : static_cast<std::int64_t>(std::min(
                                    std::round(facts.duration_s * facts.times.frames_per_s), 1e9));
  info_.times = facts.times;
  info_.notes = facts.notes;
  if (stream_.lacks_checksums()) {
    info_.notes.push_back("FFV1 without checksums: frames damaged on the disk cannot be detected");
  }
  info_.storage.intra_only = stream_.probe_intra_only();
  if (stream_.is_lossy() && !stream_.begins_with_keys()) {
    info_.notes.push_back(
        "frames are predicted from one another: they may share errors of the codec, so the "
        "reported resolution may be too fine");
  }
  quarters_ = facts.quarters;
}

AvFrame VideoCapture::first_picture() {
  int damaged = 0;
  while (auto frame = stream_.next()) {
    if (frame->picture) return std::move(frame->picture);
    if (++damaged == kMaxDamagedAtStart) break;
  }
  if (damaged == 0) {
    throw InputError(fmt::format(
        "{}: holds no frames: nothing follows the header. Record or copy it again.", info_.path));
  }
  throw InputError(fmt::format(
      "{}: none of the first {} frames can be decoded ({} in {}). The file is damaged or cut off; "
      "copy it again.",
      info_.path, damaged, info_.storage.codec, info_.storage.container));
}

void VideoCapture::learn_from_frames(const OpenOptions& options) {
  AvFrame first = first_picture();
  check_size(info_.path, {first->width, first->height});
  if (options.check_size) options.check_size(info_.path, {first->width, first->height});
  learn_layout(*first, options);
  BitDepthEstimator depth;
  CfaCheck mosaic;
  bool coloured = false;
  int seen = 0;
  look_at_first_frames(std::move(first), [&](const Frame& frame) {
    if (!layout_.bits_are_certain) depth.add(frame);
    const bool one_plane = layout_.colour == Colour::mono || layout_.colour == Colour::cfa;
    if (one_plane && seen++ < kMosaicFrames) mosaic.add(frame);
    coloured = coloured || (layout_.colour == Colour::yuv && has_colour(frame, layout_.chroma));
  });
  set_depth(layout_.bits_are_certain ? known_depth() : depth_from(depth));
  // Gray pictures are often coded as YUV of which the differences never change.
  if (layout_.colour == Colour::yuv && !coloured) info_.colour = layout_.colour = Colour::luma;
  const std::string warning = mosaic.warning(layout_.cfa);
  info_.cfa_doubtful = !warning.empty();
  if (info_.cfa_doubtful) info_.notes.push_back(warning);
}

void VideoCapture::learn_layout(const AVFrame& first, const OpenOptions& options) {
  layout_ = layout_of(info_.path, first);
  layout_.bits_are_certain = layout_.bits_are_certain || stream_.source().facts().scale.has_value();
  apply_choices(options, {info_.path, info_.storage.container, stream_.is_raw()}, layout_);
  format_ = first.format;
  stored_size_ = {first.width, first.height};
  if (quarters_ == 0) quarters_ = quarters_of_picture(first);
  info_.storage.pixel_format = pixel_format_name(first.format);
  info_.size = turned_size(stored_size_, quarters_);
  info_.rotation_deg = 90 * quarters_;
  info_.colour = layout_.colour;
  info_.cfa = turned_cfa(layout_.cfa, stored_size_, quarters_);
  info_.chroma = turned_chroma(layout_.chroma, stored_size_, quarters_);
  info_.sample_type = layout_.type;
  info_.bits.stored = 8 * layout_.sample_bytes();
  info_.notes.insert(info_.notes.end(), layout_.notes.begin(), layout_.notes.end());
  if (quarters_ != 0) {
    info_.notes.push_back(
        fmt::format("turned {} degrees clockwise, as stated in the file", 90 * quarters_));
  }
  if (first.interlaced_frame != 0) {
    info_.notes.push_back(
        "frames are interlaced: odd and even rows were exposed at different times");
  }
}

TrueDepth VideoCapture::known_depth() const {
  const double full_scale = static_cast<double>(((1 << layout_.bits) - 1) << layout_.shift);
  return {layout_.bits, layout_.shift > 0, full_scale, false};
}

template <class Visit>
void VideoCapture::look_at_first_frames(AvFrame first, const Visit& visit) {
  const bool few_are_enough = layout_.bits_are_certain && layout_.colour != Colour::yuv;
  const int count = few_are_enough ? kMosaicFrames : kFirstFrames;
  visit(unpack(std::move(first), layout_, 0));
  for (int seen = 1; seen < count;) {
    auto frame = stream_.next();
    if (!frame) break;
    if (!frame->picture || !fits(*frame->picture)) continue;
    visit(unpack(std::move(frame->picture), layout_, 0));
    ++seen;
  }
}

TrueDepth VideoCapture::depth_from(const BitDepthEstimator& estimator) {
  const int stated = stream_.source().facts().bits_per_sample;
  const TrueDepth depth = estimator.estimate(stated);
  if (depth.header_was_wrong) {
    info_.notes.push_back(
        fmt::format("the header states {} bits a sample, the samples use {}", stated, depth.bits));
  }
  return depth;
}

void VideoCapture::set_depth(const TrueDepth& depth) {
  info_.bits.used = depth.bits;
  info_.bits.high_aligned = depth.high_aligned;
  info_.full_scale = depth.full_scale;
  info_.scale = stream_.source().facts().scale.value_or(depth.scale());
  if (layout_.range == SampleRange::video) {
    // Video levels: ITU-R BT.601-7 table 3 and BT.709-6 table 1, 8-bit values times 2^(bits-8).
    const double unit = static_cast<double>(1 << (layout_.bits - 8 + layout_.shift));
    info_.full_scale = 235 * unit;
    info_.scale = {16 * unit, 1.0 / (219 * unit)};
  }
}

bool VideoCapture::fits(const AVFrame& picture) const {
  return picture.format == format_ && picture.width == stored_size_.width_px &&
         picture.height == stored_size_.height_px;
}

/// The stream's next frame, turned into samples.
Outcome<Frame> VideoCapture::take() {
  if (at_end_) return Reject::past_the_end;
  auto decoded = stream_.next();
  if (!decoded) return Reject::past_the_end;
  if (!decoded->picture || !fits(*decoded->picture)) return Reject::damaged;
  Frame frame = unpack(std::move(decoded->picture), layout_, quarters_);
  frame.index = decoded->index;
  frame.time_s = decoded->time_s;
  if (frame.time_s < 0) {
    frame.time_s = info_.times.frames_per_s > 0
                       ? static_cast<double>(frame.index) / info_.times.frames_per_s
                       : 0;
  }
  return frame;
}

}  // namespace

std::vector<Capture::NextFrame> Capture::next_frames(std::size_t most) {
  std::vector<NextFrame> block;
  block.reserve(most);
  while (block.size() < most) {
    Outcome<Frame> frame = next();
    if (!frame.ok() && frame.reason() == Reject::past_the_end) break;
    block.push_back({tally().frames - 1, std::move(frame)});
  }
  return block;
}

std::unique_ptr<Capture> Capture::open(const std::string& path, const OpenOptions& options) {
  return std::make_unique<VideoCapture>(path, options);
}

std::string decoder_version() {
  const auto name = [](const char* library, unsigned version) {
    return fmt::format("{} {}.{}.{}", library, AV_VERSION_MAJOR(version), AV_VERSION_MINOR(version),
                       AV_VERSION_MICRO(version));
  };
  return name("libavformat", avformat_version()) + ", " + name("libavcodec", avcodec_version());
}

}  // namespace lull::capture
