#include "lab/video_writer.h"

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/display.h>
#include <libavutil/imgutils.h>
}

#include <cstring>
#include <stdexcept>

namespace lull::lab {

namespace {

constexpr int kFinestRate = 1'000'000;  // of the fraction by which files state a rate

int checked(int result, const std::string& what) {
  if (result >= 0) return result;
  std::string text(AV_ERROR_MAX_STRING_SIZE, '\0');
  av_strerror(result, text.data(), text.size());
  throw std::runtime_error(what + ": " + text.c_str());
}

struct Free {
  void operator()(AVCodecContext* context) const { avcodec_free_context(&context); }

  void operator()(AVFrame* frame) const { av_frame_free(&frame); }

  void operator()(AVPacket* packet) const { av_packet_free(&packet); }

  void operator()(AVFormatContext* context) const {
    if ((context->oformat->flags & AVFMT_NOFILE) == 0) avio_closep(&context->pb);
    avformat_free_context(context);
  }
};

}  // namespace

struct VideoWriter::State {
  std::unique_ptr<AVFormatContext, Free> file;
  std::unique_ptr<AVCodecContext, Free> encoder;
  std::unique_ptr<AVFrame, Free> frame{av_frame_alloc()};
  std::unique_ptr<AVPacket, Free> packet{av_packet_alloc()};
  AVStream* stream = nullptr;
  std::int64_t count = 0;

  void open_encoder(const VideoFormat& format);
  void open_file(const std::string& path, const VideoFormat& format);
  void start(const VideoFormat& format);
  void encode(const AVFrame* picture);
};

void VideoWriter::State::open_encoder(const VideoFormat& format) {
  const AVCodec* codec = avcodec_find_encoder_by_name(format.codec.c_str());
  if (codec == nullptr) throw std::runtime_error("no encoder " + format.codec);
  encoder.reset(avcodec_alloc_context3(codec));
  encoder->width = format.width_px;
  encoder->height = format.height_px;
  encoder->pix_fmt = av_get_pix_fmt(format.pixel_format.c_str());
  encoder->framerate = av_d2q(format.frames_per_s, kFinestRate);
  encoder->time_base = av_inv_q(encoder->framerate);
  encoder->gop_size = format.group;
  encoder->max_b_frames = format.b_frames;
  encoder->thread_count = format.threads;
  if (format.bit_exact) {
    encoder->flags |= AV_CODEC_FLAG_BITEXACT;
    file->flags |= AVFMT_FLAG_BITEXACT;
  }
  // Raw, JPEG and other encoders accept what they may not be asked for by default.
  encoder->strict_std_compliance = FF_COMPLIANCE_UNOFFICIAL;
  if (format.full_range) encoder->color_range = AVCOL_RANGE_JPEG;
  if ((file->oformat->flags & AVFMT_GLOBALHEADER) != 0) {
    encoder->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  }
  AVDictionary* options = nullptr;
  for (const auto& [name, value] : format.codec_options) {
    av_dict_set(&options, name.c_str(), value.c_str(), 0);
  }
  const int opened = avcodec_open2(encoder.get(), codec, &options);
  const bool all_known = av_dict_count(options) == 0;
  av_dict_free(&options);
  checked(opened, "opening encoder " + format.codec + " for " + format.pixel_format);
  if (!all_known) throw std::runtime_error("encoder " + format.codec + " does not know an option");
}

void VideoWriter::State::open_file(const std::string& path, const VideoFormat& format) {
  AVFormatContext* made = nullptr;
  const char* container = format.container.empty() ? nullptr : format.container.c_str();
  checked(avformat_alloc_output_context2(&made, nullptr, container, path.c_str()), path);
  file.reset(made);
}

void VideoWriter::State::start(const VideoFormat& format) {
  stream = avformat_new_stream(file.get(), nullptr);
  if (stream == nullptr) throw std::bad_alloc();
  stream->time_base = encoder->time_base;
  stream->avg_frame_rate = encoder->framerate;
  checked(avcodec_parameters_from_context(stream->codecpar, encoder.get()), "parameters");
  if (format.rotation_deg != 0) {
    auto* matrix = av_stream_new_side_data(stream, AV_PKT_DATA_DISPLAYMATRIX, 9 * sizeof(int));
    if (matrix == nullptr) throw std::bad_alloc();
    av_display_rotation_set(reinterpret_cast<std::int32_t*>(matrix), format.rotation_deg);
  }
  if ((file->oformat->flags & AVFMT_NOFILE) == 0) {
    checked(avio_open(&file->pb, file->url, AVIO_FLAG_WRITE), file->url);
  }
  if (!format.begun.empty()) av_dict_set(&file->metadata, "creation_time", format.begun.c_str(), 0);
  checked(avformat_write_header(file.get(), nullptr), file->url);
  frame->format = encoder->pix_fmt;
  frame->width = encoder->width;
  frame->height = encoder->height;
  frame->color_range = encoder->color_range;
  checked(av_frame_get_buffer(frame.get(), 0), "picture");
}

void VideoWriter::State::encode(const AVFrame* picture) {
  checked(avcodec_send_frame(encoder.get(), picture), "encoding");
  while (avcodec_receive_packet(encoder.get(), packet.get()) >= 0) {
    if (packet->duration == 0) packet->duration = 1;
    av_packet_rescale_ts(packet.get(), encoder->time_base, stream->time_base);
    packet->stream_index = stream->index;
    checked(av_interleaved_write_frame(file.get(), packet.get()), "writing");
  }
}

VideoWriter::VideoWriter(const std::string& path, const VideoFormat& format)
    : state_(std::make_unique<State>()) {
  state_->open_file(path, format);
  state_->open_encoder(format);
  state_->start(format);
}

VideoWriter::~VideoWriter() = default;

std::size_t VideoWriter::picture_bytes() const {
  const AVFrame& frame = *state_->frame;
  return static_cast<std::size_t>(checked(
      av_image_get_buffer_size(state_->encoder->pix_fmt, frame.width, frame.height, 1), "size"));
}

void VideoWriter::add(std::span<const std::byte> picture) {
  if (picture.size() != picture_bytes()) {
    throw std::runtime_error("a picture has " + std::to_string(picture.size()) + " bytes, not " +
                             std::to_string(picture_bytes()));
  }
  AVFrame& frame = *state_->frame;
  checked(av_frame_make_writable(&frame), "picture");
  std::uint8_t* planes[4] = {};
  int strides[4] = {};
  checked(
      av_image_fill_arrays(planes, strides, reinterpret_cast<const std::uint8_t*>(picture.data()),
                           state_->encoder->pix_fmt, frame.width, frame.height, 1),
      "picture");
  av_image_copy(frame.data, frame.linesize, const_cast<const std::uint8_t**>(planes), strides,
                state_->encoder->pix_fmt, frame.width, frame.height);
  frame.pts = state_->count++;
  state_->encode(&frame);
}

void VideoWriter::skip(int pictures) { state_->count += pictures; }

void VideoWriter::finish() {
  state_->encode(nullptr);
  checked(av_write_trailer(state_->file.get()), "completing the file");
}

void write_video(const std::string& path, const VideoFormat& format,
                 const std::vector<std::vector<std::byte>>& pictures) {
  VideoWriter writer(path, format);
  for (const auto& picture : pictures) writer.add(picture);
  writer.finish();
}

std::vector<std::byte> bytes_of(std::span<const std::uint8_t> samples) {
  const auto bytes = std::as_bytes(samples);
  return {bytes.begin(), bytes.end()};
}

std::vector<std::byte> bytes_of(std::span<const std::uint16_t> samples) {
  const auto bytes = std::as_bytes(samples);
  return {bytes.begin(), bytes.end()};
}

}  // namespace lull::lab
