#pragma once

#include <memory>
#include <string>

#include "capture/input_file.h"
#include "capture/open_options.h"

namespace lull::capture {

/// Demuxer for the file, by its content alone: names of files lie.
/// @throws InputError if none knows it, or if it is a playlist or a text that refers elsewhere.
[[nodiscard]] const AVInputFormat& find_demuxer(InputFile& file);

/// A file opened by libav, which is kept from opening any other file or address.
class Container {
 public:
  /// @throws InputError: not what it seems, or without video.
  Container(InputFile& file, const AVInputFormat& demuxer);

  [[nodiscard]] AVFormatContext& context() const { return *context_; }

  [[nodiscard]] AVStream& video() const { return *video_; }

 private:
  FileReader reader_;
  FormatContext context_;  // after its reader, so that it is closed first
  AVStream* video_ = nullptr;
};

}  // namespace lull::capture
