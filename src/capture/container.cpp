#include "capture/container.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <new>
#include <string_view>

#include "capture/decode_log.h"
#include "core/error.h"

namespace lull::capture {

namespace {

/// Demuxers that fetch other files or addresses, and those that draw text.
constexpr std::array<std::string_view, 12> kRefusedDemuxers = {
    "hls", "concat", "dash", "sdp", "rtsp", "imf", "tty", "bin", "xbin", "adf", "idf", "lavfi"};

int refuse_to_open(AVFormatContext* /*context*/, AVIOContext** /*opened*/, const char* /*url*/,
                   int /*flags*/, AVDictionary** /*options*/) {
  return kRefused;
}

[[nodiscard]] InputError not_a_video(const std::string& path, std::string_view why) {
  return InputError(fmt::format(
      "{}: is not a video that can be read ({}). Check that it is a capture, and that it was "
      "recorded and copied to its end.",
      path, why));
}

/// Enough is known of a stream when its decoder can start: the decoder finds the rest itself.
[[nodiscard]] bool needs_a_closer_look(const AVFormatContext& context, const AVStream* video) {
  if ((context.ctx_flags & AVFMTCTX_NOHEADER) != 0 || video == nullptr) return true;
  const AVCodecParameters& codec = *video->codecpar;
  if (codec.codec_id == AV_CODEC_ID_NONE || codec.width == 0 || codec.height == 0) return true;
  // Decoders that reorder must know by how much before the first frame.
  const AVCodecDescriptor* description = avcodec_descriptor_get(codec.codec_id);
  return description == nullptr || (description->props & AV_CODEC_PROP_REORDER) != 0;
}

/// The largest video stream that is not a cover picture of a sound file.
[[nodiscard]] AVStream* find_video(const AVFormatContext& context) {
  AVStream* best = nullptr;
  for (unsigned i = 0; i < context.nb_streams; ++i) {
    AVStream* stream = context.streams[i];
    if (stream->codecpar->codec_type != AVMEDIA_TYPE_VIDEO) continue;
    if ((stream->disposition & AV_DISPOSITION_ATTACHED_PIC) != 0) continue;
    if (best == nullptr || stream->codecpar->width > best->codecpar->width) best = stream;
  }
  return best;
}

}  // namespace

const AVInputFormat& find_demuxer(InputFile& file) {
  silence_libav();
  FileReader reader(file);
  const AVInputFormat* demuxer = nullptr;
  // No name is given: some demuxers would otherwise be chosen by the ending of the name alone.
  const int score = av_probe_input_buffer2(reader.context(), &demuxer, "", nullptr, 0, 0);
  file.throw_if_failed();
  if (score == kNoMemory) throw std::bad_alloc();
  if (score < 0 || demuxer == nullptr) throw not_a_video(file.path(), "no known format");
  const auto refused = std::find(kRefusedDemuxers.begin(), kRefusedDemuxers.end(), demuxer->name);
  if (refused != kRefusedDemuxers.end()) {
    throw InputError(fmt::format(
        "{}: is a playlist or a text, not a capture. Name the video file itself.", file.path()));
  }
  return *demuxer;
}

Container::Container(InputFile& file, const AVInputFormat& demuxer) : reader_(file) {
  silence_libav();
  AVFormatContext* context = avformat_alloc_context();
  if (context == nullptr) throw std::bad_alloc();
  context->pb = reader_.context();
  // Should a demuxer that was not refused by name want another file, it gets none either.
  context->io_open = &refuse_to_open;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "protocol_whitelist", "none", 0);
  const int error = avformat_open_input(&context, "", &demuxer, &options);
  av_dict_free(&options);
  file.throw_if_failed();
  if (error == kNoMemory) throw std::bad_alloc();
  if (error < 0) throw not_a_video(file.path(), error_text(error));  // libav freed the context
  context_.reset(context);
  video_ = find_video(*context);
  if (needs_a_closer_look(*context, video_)) {
    const int found = avformat_find_stream_info(context, nullptr);
    file.throw_if_failed();
    if (found == kNoMemory) throw std::bad_alloc();
    if (found < 0) throw not_a_video(file.path(), error_text(found));
    video_ = find_video(*context);
  }
  if (video_ == nullptr) {
    throw InputError(
        fmt::format("{}: holds no video ({}). Name a file that holds frames.", file.path(),
                    context->nb_streams == 0 ? "it is empty" : "sound or other data only"));
  }
  for (unsigned i = 0; i < context->nb_streams; ++i) {
    if (context->streams[i] != video_) context->streams[i]->discard = AVDISCARD_ALL;
  }
}

}  // namespace lull::capture
