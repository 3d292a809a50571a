#include "capture/video_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <string>
#include <thread>
#include <utility>

#include "capture/chroma_layout.h"
#include "capture/encoded_file.h"
#include "capture/libav.h"
#include "core/assert.h"
#include "core/error.h"

namespace lull::capture {

namespace fs = std::filesystem;

namespace {

/// Formats of 16-bit words that FFV1 of libav 5.1 can write and read, by their used bits.
struct WordFormat {
  int bits;
  AVPixelFormat gray;
  AVPixelFormat rgb;
};

constexpr std::array<WordFormat, 5> kWordFormats = {{
    {9, AV_PIX_FMT_GRAY9, AV_PIX_FMT_GBRP9},
    {10, AV_PIX_FMT_GRAY10, AV_PIX_FMT_GBRP10},
    {12, AV_PIX_FMT_GRAY12, AV_PIX_FMT_GBRP12},
    {14, AV_PIX_FMT_NONE, AV_PIX_FMT_GBRP14},
    {16, AV_PIX_FMT_GRAY16, AV_PIX_FMT_GBRP16},
}};

/// Bits of a sample by the capture's pixel format; 16 where it does not state them, or where the
/// samples were rescaled since.
[[nodiscard]] int stated_bits(const CaptureInfo& info) {
  const AVPixFmtDescriptor* format =
      av_pix_fmt_desc_get(av_get_pix_fmt(info.storage.pixel_format.c_str()));
  if (format == nullptr) return 16;
  // Words with unused low bits need all 16.
  const AVComponentDescriptor& first = format->comp[0];
  return first.shift == 0 && info.full_scale < 1 << first.depth ? first.depth : 16;
}

/// Are these video levels of `bits` bits? Whole numbers and the same quotient: equal is exact.
[[nodiscard]] bool is_video_range(const SampleScale& scale, int bits) {
  const int unit = 1 << (bits - 8);
  return scale.black == 16 * unit && scale.per_unit == 1.0 / (219 * unit);
}

/// Planar format with the same samples of luma and chroma.
[[nodiscard]] AVPixelFormat yuv_format_for(const CaptureInfo& info) {
  const int columns = info.chroma.columns;
  const int rows = info.chroma.rows;
  const char* ratio = columns == 2   ? (rows == 2 ? "420" : "422")
                      : columns == 4 ? (rows == 4 ? "410" : "411")
                                     : (rows == 2 ? "440" : "444");
  const bool words = info.sample_type == SampleType::u16;
  const std::string depth = words ? fmt::format("{}", stated_bits(info)) : "";
  return av_get_pix_fmt(fmt::format("yuv{}p{}", ratio, depth).c_str());
}

[[nodiscard]] AVPixelFormat format_for(const CaptureInfo& info) {
  if (info.colour == Colour::yuv) return yuv_format_for(info);
  const bool rgb = info.colour == Colour::rgb;
  if (info.sample_type == SampleType::u8) return rgb ? AV_PIX_FMT_0RGB32 : AV_PIX_FMT_GRAY8;
  AVPixelFormat best = AV_PIX_FMT_NONE;
  for (const WordFormat& words : kWordFormats) {
    best = rgb ? words.rgb : words.gray;
    if (words.bits == stated_bits(info) && best != AV_PIX_FMT_NONE) return best;
  }
  return best;
}

/// Slices that a frame is cut into, a square number; 0: none would do. libav offers no single slice
/// above 352 x 288 px, and decodes slices that are 1 px wide or high to black without a word
/// (measured with libav 5.1: all pixel formats). The number is part of the bytes, so it depends on
/// nothing but the size.
[[nodiscard]] int slices_for(Size size) {
  const int shorter_px = std::min(size.width_px, size.height_px);
  if (size.width_px <= 352 && size.height_px <= 288) return shorter_px >= 2 ? 1 : 0;
  if (size.area_px() >= Size{640, 480}.area_px() && shorter_px >= 16) return 16;
  return shorter_px >= 4 ? 4 : 0;
}

[[nodiscard]] AVRational rate_of(double frames_per_s) {
  constexpr double kDefault = 25;
  constexpr double kFastest = 999;  // libav leaves the rate out unless frames last more than 1 ms
  constexpr int kFinest = 1'000'000;
  const bool known = std::isfinite(frames_per_s) && frames_per_s > 0;
  return av_d2q(known ? std::clamp(frames_per_s, 1.0, kFastest) : kDefault, kFinest);
}

[[nodiscard]] int thread_count(int wanted) {
  constexpr int kMostThreads = 16;  // as many as there are slices
  const int machine = static_cast<int>(std::thread::hardware_concurrency());
  return std::clamp(wanted > 0 ? wanted : machine, 1, kMostThreads);
}

/// Copies the samples of one plane into libav's picture. @return all bits that are set.
template <class T>
[[nodiscard]] unsigned place(const SampleView& from, const AVComponentDescriptor& component,
                             const AVFrame& picture) {
  auto* plane = reinterpret_cast<std::byte*>(picture.data[component.plane]) + component.offset;
  T used = 0;
  for (int y = 0; y < from.height_px; ++y) {
    const T* row = from.row<T>(y);
    std::byte* to = plane + static_cast<std::ptrdiff_t>(y) * picture.linesize[component.plane];
    for (int x = 0; x < from.width_px; ++x) {
      used = static_cast<T>(used | row[x]);
      std::memcpy(to + static_cast<std::ptrdiff_t>(x) * component.step, row + x, sizeof(T));
    }
  }
  return used;
}

[[nodiscard]] OutputError cannot_hold(Size size, const std::string& why) {
  return OutputError(
      fmt::format("cannot write a video of {} x {} px: frames of this size do not fit its format "
                  "({}); leave the video out",
                  size.width_px, size.height_px, why));
}

}  // namespace

struct VideoWriter::State {
  fs::path path;
  EncodedFile file;
  AvFrame picture = owned<AvFrame>(av_frame_alloc());
  const AVPixFmtDescriptor* format = nullptr;
  FrameIndex count = 0;

  explicit State(const fs::path& target) : path(target), file(target) {}

  void open_encoder(const CaptureInfo& info, double frames_per_s, int threads);
  [[nodiscard]] int start_encoder(bool words);
  void make_picture();
  void fill(const Frame& frame);
};

void VideoWriter::State::open_encoder(const CaptureInfo& info, double frames_per_s, int threads) {
  const AVCodec* codec = avcodec_find_encoder(AV_CODEC_ID_FFV1);
  if (codec == nullptr) {
    throw OutputError(
        "cannot write a video: this computer's FFmpeg libraries have no FFV1 encoder; install "
        "those of the distribution");
  }
  CodecContext& encoder = file.encoder;
  encoder = owned<CodecContext>(avcodec_alloc_context3(codec));
  encoder->width = info.size.width_px;
  encoder->height = info.size.height_px;
  encoder->pix_fmt = format_for(info);
  format = av_pix_fmt_desc_get(encoder->pix_fmt);
  const int bits = format->comp[0].depth;
  if (is_video_range(info.scale, bits)) encoder->color_range = AVCOL_RANGE_MPEG;
  if (info.colour == Colour::yuv) {
    if (encoder->color_range != AVCOL_RANGE_MPEG) encoder->color_range = AVCOL_RANGE_JPEG;
    describe_chroma(info.chroma, *encoder);
  }
  encoder->framerate = rate_of(frames_per_s);
  encoder->time_base = av_inv_q(encoder->framerate);
  encoder->gop_size = 1;
  encoder->level = 3;
  encoder->slices = slices_for(info.size);
  encoder->thread_type = FF_THREAD_SLICE;
  encoder->thread_count = thread_count(threads);
  encoder->flags |= AV_CODEC_FLAG_BITEXACT | AV_CODEC_FLAG_GLOBAL_HEADER;
  if (encoder->slices == 0) throw cannot_hold(info.size, "too narrow");
  const int opened = start_encoder(bits > 8);
  if (opened == kNoMemory) throw std::bad_alloc();
  if (opened < 0) throw cannot_hold(info.size, error_text(opened));
}

int VideoWriter::State::start_encoder(bool words) {
  AVDictionary* options = nullptr;
  av_dict_set(&options, "slicecrc", "1", 0);
  // Measured on noisy frames: Rice twice as fast for bytes and as small. Above 8 bits there is
  // only the range coder, here 3 % smaller and as fast with its own table.
  av_dict_set(&options, "coder", words ? "range_tab" : "rice", 0);
  AVCodecContext* encoder = file.encoder.get();
  const int opened = avcodec_open2(encoder, encoder->codec, &options);
  LULL_ASSERT(opened < 0 || av_dict_count(options) == 0);
  av_dict_free(&options);
  return opened;
}

void VideoWriter::State::make_picture() {
  const AVCodecContext* encoder = file.encoder.get();
  picture->format = encoder->pix_fmt;
  picture->width = encoder->width;
  picture->height = encoder->height;
  picture->color_range = encoder->color_range;
  file.check(av_frame_get_buffer(picture.get(), 0));
}

void VideoWriter::State::fill(const Frame& frame) {
  LULL_ASSERT(frame.size() == (Size{file.encoder->width, file.encoder->height}));
  file.check(av_frame_make_writable(picture.get()));
  unsigned used = 0;
  const auto put = [&](const SampleView& plane, std::size_t component) {
    const AVComponentDescriptor& to = format->comp[component];
    used |= plane.type == SampleType::u8 ? place<std::uint8_t>(plane, to, *picture)
                                         : place<std::uint16_t>(plane, to, *picture);
  };
  for (std::size_t i = 0; i < static_cast<std::size_t>(frame.plane_count); ++i)
    put(frame.planes[i], i);
  for (std::size_t i = 0; i < frame.chroma.size(); ++i) {
    if (frame.chroma[i].data != nullptr) put(frame.chroma[i], i + 1);
  }
  const int bits = format->comp[0].depth;
  if (used >> bits != 0) {
    throw OutputError(
        fmt::format("cannot write the video '{}': frame {} of the capture uses {} bits a sample, "
                    "but its pixel format has {}; the capture is damaged or was converted wrongly. "
                    "Convert it again, or leave the video out",
                    path.string(), frame.index, std::bit_width(used), bits));
  }
  picture->pts = count++;
}

VideoWriter::VideoWriter(const fs::path& path, const CaptureInfo& info, double frames_per_s,
                         int encoder_threads)
    : state_(std::make_unique<State>(path)) {
  state_->open_encoder(info, frames_per_s, encoder_threads);
  state_->file.begin("matroska");
  state_->make_picture();
}

VideoWriter::~VideoWriter() = default;

void VideoWriter::add(const Frame& frame) {
  state_->fill(frame);
  state_->file.encode(state_->picture.get());
}

void VideoWriter::finish() { state_->file.finish(); }

}  // namespace lull::capture
