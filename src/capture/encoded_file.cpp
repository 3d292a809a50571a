#include "capture/encoded_file.h"

#include <fmt/format.h>

#include <new>
#include <string>

#include "core/error.h"
#include "files/failure.h"

namespace lull::capture {

namespace {

// libav's codes are negated error numbers, or far below them.
std::string reason_of(const std::filesystem::path& path, int error) {
  constexpr int kMostErrno = 4095;
  return -error > kMostErrno ? error_text(error) : files::write_failure(path, -error);
}

}  // namespace

void EncodedFile::CloseOutput::operator()(AVFormatContext* context) const {
  avio_closep(&context->pb);
  avformat_free_context(context);
}

void EncodedFile::check(int result) const {
  if (result == kNoMemory) throw std::bad_alloc();
  if (result >= 0) return;
  throw OutputError(
      fmt::format("cannot write the video '{}': {}", path_.string(), reason_of(path_, result)));
}

void EncodedFile::begin(const char* container, AVDictionary** options) {
  // Without the protocol in front, a name with a colon would be read as a protocol.
  const std::string url = "file:" + output_.emplace(path_).hand_over().string();
  AVFormatContext* made = nullptr;
  check(avformat_alloc_output_context2(&made, nullptr, container, url.c_str()));
  file_.reset(made);
  file_->flags |= AVFMT_FLAG_BITEXACT;
  stream_ = avformat_new_stream(file_.get(), nullptr);
  if (stream_ == nullptr) throw std::bad_alloc();
  stream_->time_base = encoder->time_base;
  stream_->avg_frame_rate = encoder->framerate;
  check(avcodec_parameters_from_context(stream_->codecpar, encoder.get()));
  check(avio_open(&file_->pb, url.c_str(), AVIO_FLAG_WRITE));
  check(avformat_write_header(file_.get(), options));
}

void EncodedFile::encode(const AVFrame* next) {
  check(avcodec_send_frame(encoder.get(), next));
  while (true) {
    const int received = avcodec_receive_packet(encoder.get(), packet_.get());
    if (received == kTryAgain || received == kEndOfStream) return;
    check(received);
    packet_->duration = 1;
    av_packet_rescale_ts(packet_.get(), encoder->time_base, stream_->time_base);
    packet_->stream_index = stream_->index;
    check(av_interleaved_write_frame(file_.get(), packet_.get()));
  }
}

void EncodedFile::finish() {
  encode(nullptr);
  // The trailer flushes the buffer. An error on closing is a late error of the disk: network drives
  // report some only then.
  check(av_write_trailer(file_.get()));
  check(avio_closep(&file_->pb));
  output_->commit();
}

}  // namespace lull::capture
