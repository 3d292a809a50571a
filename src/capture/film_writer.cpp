#include "capture/film_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cstring>
#include <optional>
#include <string>
#include <utility>

#include "capture/encoded_file.h"
#include "capture/libav.h"
#include "core/assert.h"
#include "core/error.h"

extern "C" {
#include <libswscale/swscale.h>
}

namespace lull::capture {

namespace fs = std::filesystem;

namespace {

constexpr int kThreads = 4;  // fixed: the bytes of H.264 depend on their number
constexpr int kFinestRate = 1'000'000;

/// What libav calls a format, and how it is told to keep detail.
struct Recipe {
  FilmFormat format;
  const char* ending;
  const char* encoder;
  const char* container;
  AVPixelFormat pixels;
  std::vector<std::pair<const char*, const char*>> options;
};

const std::vector<Recipe>& recipes() {
  // Qualities at which stacks show no blocks: common practice, no source.
  static const std::vector<Recipe> all = {
      {FilmFormat::mp4,
       ".mp4",
       "libx264",
       "mp4",
       AV_PIX_FMT_YUV420P,
       {{"crf", "14"}, {"preset", "slow"}, {"tune", "animation"}}},
      {FilmFormat::webm,
       ".webm",
       "libvpx-vp9",
       "webm",
       AV_PIX_FMT_YUV420P,
       {{"crf", "18"}, {"deadline", "good"}, {"cpu-used", "2"}}},
      {FilmFormat::gif, ".gif", "gif", "gif", AV_PIX_FMT_PAL8, {}},
      {FilmFormat::apng, ".png", "apng", "apng", AV_PIX_FMT_RGB24, {{"pred", "mixed"}}}};
  return all;
}

const Recipe& recipe_of(FilmFormat format) {
  return *std::find_if(recipes().begin(), recipes().end(),
                       [format](const Recipe& one) { return one.format == format; });
}

struct FreeScaler {
  void operator()(SwsContext* context) const { sws_freeContext(context); }
};

bool is_yuv(const Recipe& recipe) { return recipe.pixels == AV_PIX_FMT_YUV420P; }

OutputError cannot_film(Size size, const std::string& why) {
  return OutputError(
      fmt::format("cannot write a film of {} x {} px: {}; use pictures of another size, or another "
                  "format",
                  size.width_px, size.height_px, why));
}

// Times a film plays, as the container counts them.
std::string plays_of(FilmFormat format, int plays) {
  if (format == FilmFormat::apng || plays == 0) return std::to_string(plays);
  return std::to_string(plays == 1 ? -1 : plays - 1);  // GIF counts repetitions
}

}  // namespace

FilmFormat film_format_of(const fs::path& path) {
  std::string ending = path.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (const Recipe& recipe : recipes()) {
    if (ending == recipe.ending) return recipe.format;
  }
  throw UsageError(
      fmt::format("{}: the name of a film must end in .mp4, .webm, .gif or .png", path.string()));
}

bool states_loops(FilmFormat format) {
  return format == FilmFormat::gif || format == FilmFormat::apng;
}

Size film_size(FilmFormat format, Size size) {
  if (!is_yuv(recipe_of(format))) return size;
  return {size.width_px - size.width_px % 2, size.height_px - size.height_px % 2};
}

struct FilmWriter::State {
  const Recipe& recipe;
  EncodedFile file;
  AvFrame picture = owned<AvFrame>(av_frame_alloc());
  std::unique_ptr<SwsContext, FreeScaler> scaler;
  std::optional<files::IndexedColours> colours;
  files::Bitmap rgb;  // what the scaler reads
  std::int64_t count = 0;

  explicit State(const fs::path& path) : recipe(recipe_of(film_format_of(path))), file(path) {}

  void open_encoder(Size size, double pictures_per_s);
  void begin(const FilmOptions& options);
  void make_scaler();
  void fill_indices(const files::Bitmap& from);
  void fill_colours(const files::Bitmap& from);
};

void FilmWriter::State::open_encoder(Size size, double pictures_per_s) {
  const AVCodec* codec = avcodec_find_encoder_by_name(recipe.encoder);
  if (codec == nullptr) {
    throw OutputError(
        fmt::format("cannot write a film: this computer's FFmpeg libraries have no encoder {}; "
                    "install those of the distribution, or choose another format",
                    recipe.encoder));
  }
  CodecContext& encoder = file.encoder;
  encoder = owned<CodecContext>(avcodec_alloc_context3(codec));
  encoder->width = size.width_px;
  encoder->height = size.height_px;
  encoder->pix_fmt = recipe.pixels;
  encoder->framerate = av_d2q(pictures_per_s, kFinestRate);
  encoder->time_base = av_inv_q(encoder->framerate);
  encoder->thread_count = kThreads;
  encoder->flags |= AV_CODEC_FLAG_BITEXACT;
  if (is_yuv(recipe)) {
    encoder->color_range = AVCOL_RANGE_MPEG;
    encoder->colorspace = AVCOL_SPC_BT709;
    encoder->color_primaries = AVCOL_PRI_BT709;
    encoder->color_trc = AVCOL_TRC_IEC61966_2_1;
    encoder->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  }
  AVDictionary* options = nullptr;
  for (const auto& [name, value] : recipe.options) av_dict_set(&options, name, value, 0);
  const int opened = avcodec_open2(encoder.get(), codec, &options);
  LULL_ASSERT(opened < 0 || av_dict_count(options) == 0);
  av_dict_free(&options);
  if (opened == kNoMemory) throw std::bad_alloc();
  if (opened < 0) throw cannot_film(size, error_text(opened));
}

void FilmWriter::State::begin(const FilmOptions& options) {
  AVDictionary* choices = nullptr;
  const std::string plays = plays_of(recipe.format, options.plays);
  if (recipe.format == FilmFormat::gif) av_dict_set(&choices, "loop", plays.c_str(), 0);
  if (recipe.format == FilmFormat::apng) av_dict_set(&choices, "plays", plays.c_str(), 0);
  if (recipe.format == FilmFormat::mp4) av_dict_set(&choices, "movflags", "+faststart", 0);
  try {
    file.begin(recipe.container, &choices);
  } catch (...) {
    av_dict_free(&choices);
    throw;
  }
  av_dict_free(&choices);
}

void FilmWriter::State::make_scaler() {
  const int width = file.encoder->width;
  const int height = file.encoder->height;
  scaler.reset(sws_getContext(width, height, AV_PIX_FMT_RGB24, width, height, recipe.pixels,
                              SWS_AREA | SWS_ACCURATE_RND | SWS_BITEXACT | SWS_FULL_CHR_H_INP,
                              nullptr, nullptr, nullptr));
  if (scaler == nullptr) throw std::bad_alloc();
  const int* bt709 = sws_getCoefficients(SWS_CS_ITU709);
  sws_setColorspaceDetails(scaler.get(), bt709, 1, bt709, 0, 0, 1 << 16, 1 << 16);
}

void FilmWriter::State::fill_indices(const files::Bitmap& from) {
  for (int y = 0; y < picture->height; ++y)
    colours->row(from, y, picture->data[0] + std::ptrdiff_t{y} * picture->linesize[0]);
  // 32-bit words: opaque, red, green, blue.
  auto* table = reinterpret_cast<std::uint32_t*>(picture->data[1]);
  std::fill_n(table, 256, 0xFF000000U);
  for (std::size_t i = 0; i < colours->table().size(); ++i) {
    const files::Rgb& c = colours->table()[i];
    table[i] = 0xFF000000U | static_cast<std::uint32_t>(c[0] << 16 | c[1] << 8 | c[2]);
  }
}

void FilmWriter::State::fill_colours(const files::Bitmap& from) {
  const auto width = static_cast<std::size_t>(picture->width);
  const auto channels = static_cast<std::size_t>(from.channels);
  rgb.samples.resize(3 * width * static_cast<std::size_t>(picture->height));
  for (int y = 0; y < picture->height; ++y) {
    const std::uint8_t* row = from.samples.data() + static_cast<std::size_t>(y) *
                                                        static_cast<std::size_t>(from.width_px) *
                                                        channels;
    std::uint8_t* to = rgb.samples.data() + 3 * width * static_cast<std::size_t>(y);
    for (std::size_t x = 0; x < width; ++x) {
      for (std::size_t c = 0; c < 3; ++c)
        to[3 * x + c] = row[channels * x + std::min(c, channels - 1)];
    }
  }
  const std::uint8_t* source[] = {rgb.samples.data(), nullptr, nullptr, nullptr};
  const int stride[] = {3 * picture->width, 0, 0, 0};
  if (is_yuv(recipe)) {
    sws_scale(scaler.get(), source, stride, 0, picture->height, picture->data, picture->linesize);
    return;
  }
  for (int y = 0; y < picture->height; ++y)
    std::memcpy(picture->data[0] + std::ptrdiff_t{y} * picture->linesize[0],
                source[0] + std::ptrdiff_t{y} * stride[0], 3 * width);
}

FilmWriter::FilmWriter(const fs::path& path, Size size, const FilmOptions& options)
    : state_(std::make_unique<State>(path)) {
  state_->open_encoder(size, options.pictures_per_s);
  state_->begin(options);
  if (is_yuv(state_->recipe)) state_->make_scaler();
  if (state_->recipe.pixels == AV_PIX_FMT_PAL8) state_->colours.emplace(options.colours);
  AVFrame& picture = *state_->picture;
  picture.format = state_->recipe.pixels;
  picture.width = size.width_px;
  picture.height = size.height_px;
  picture.color_range = state_->file.encoder->color_range;
  state_->file.check(av_frame_get_buffer(&picture, 0));
}

FilmWriter::~FilmWriter() = default;

void FilmWriter::add(const files::Bitmap& picture) {
  AVFrame& frame = *state_->picture;
  LULL_ASSERT(picture.width_px >= frame.width && picture.height_px >= frame.height);
  state_->file.check(av_frame_make_writable(&frame));
  state_->colours ? state_->fill_indices(picture) : state_->fill_colours(picture);
  frame.pts = state_->count++;
  state_->file.encode(&frame);
}

void FilmWriter::finish() { state_->file.finish(); }

}  // namespace lull::capture
