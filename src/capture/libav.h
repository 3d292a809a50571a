#pragma once

// The one door to libav: its headers, its constants without their casts, and owners of its objects.

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/display.h>
#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
}

#include <array>
#include <cstdint>
#include <memory>
#include <string>

namespace lull::capture {

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wold-style-cast"
inline constexpr std::int64_t kNoTime = AV_NOPTS_VALUE;
inline constexpr int kEndOfStream = AVERROR_EOF;
inline constexpr int kTryAgain = AVERROR(EAGAIN);
inline constexpr int kReadError = AVERROR(EIO);
inline constexpr int kRefused = AVERROR(EPERM);
inline constexpr int kNoMemory = AVERROR(ENOMEM);
#pragma GCC diagnostic pop

struct FreeLibav {
  void operator()(AVFormatContext* context) const { avformat_close_input(&context); }

  void operator()(AVCodecContext* context) const { avcodec_free_context(&context); }

  void operator()(AVCodecParameters* parameters) const { avcodec_parameters_free(&parameters); }

  void operator()(AVPacket* packet) const { av_packet_free(&packet); }

  void operator()(AVFrame* frame) const { av_frame_free(&frame); }

  void operator()(AVBufferPool* pool) const { av_buffer_pool_uninit(&pool); }

  void operator()(AVIOContext* context) const {
    av_freep(&context->buffer);  // libav may have replaced the buffer it was given
    avio_context_free(&context);
  }
};

using FormatContext = std::unique_ptr<AVFormatContext, FreeLibav>;
using CodecContext = std::unique_ptr<AVCodecContext, FreeLibav>;
using CodecParameters = std::unique_ptr<AVCodecParameters, FreeLibav>;
using Packet = std::unique_ptr<AVPacket, FreeLibav>;
using AvFrame = std::unique_ptr<AVFrame, FreeLibav>;
using BufferPool = std::unique_ptr<AVBufferPool, FreeLibav>;
using IoContext = std::unique_ptr<AVIOContext, FreeLibav>;

/// @throws std::bad_alloc when libav had no memory.
template <class Owner>
[[nodiscard]] Owner owned(typename Owner::pointer made) {
  if (made == nullptr) throw std::bad_alloc();
  return Owner(made);
}

/// libav's words for an error number.
[[nodiscard]] inline std::string error_text(int error) {
  std::array<char, AV_ERROR_MAX_STRING_SIZE> text{};
  av_strerror(error, text.data(), text.size());
  return text.data();
}

}  // namespace lull::capture
