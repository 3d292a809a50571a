#pragma once

#include <filesystem>
#include <optional>

#include "capture/decode_log.h"
#include "capture/libav.h"
#include "files/atomic_file.h"

namespace lull::capture {

/// One video stream on its way into a file: an encoder of libav, the container, and an AtomicFile.
/// The caller sets the encoder up and opens it. Without finish() nothing is left. One thread.
class EncodedFile {
 public:
  explicit EncodedFile(std::filesystem::path target) : path_(std::move(target)) {}

  CodecContext encoder;

  /// Begins the file; the encoder is open. @param container  libav's name of it.
  /// @param options  of the container; those it knows are taken out. @throws OutputError
  void begin(const char* container, AVDictionary** options = nullptr);

  /// @param next  null: the end. @throws OutputError
  void encode(const AVFrame* next);

  /// Encodes what is left, completes the file and gives it its name. @throws OutputError
  void finish();

  /// @throws OutputError where libav reports one, std::bad_alloc.
  void check(int result) const;

 private:
  struct CloseOutput {
    void operator()(AVFormatContext* context) const;
  };

  std::filesystem::path path_;
  std::optional<files::AtomicFile> output_;
  DecodeLog quiet_;  // its existence keeps libav from writing to standard error
  std::unique_ptr<AVFormatContext, CloseOutput> file_;
  AVStream* stream_ = nullptr;
  Packet packet_ = owned<Packet>(av_packet_alloc());
};

}  // namespace lull::capture
