#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace lull::lab {

/// What to write. Names are libav's.
struct VideoFormat {
  std::string codec = "rawvideo";  ///< "ffv1", "mjpeg", "libx264", "png", ...
  std::string pixel_format = "gray";
  int width_px = 64;
  int height_px = 48;
  double frames_per_s = 100;  ///< positive
  int group = 1;              ///< frames from one key frame to the next
  int b_frames = 0;
  int rotation_deg = 0;     ///< clockwise turn that a player should apply (MP4, MOV)
  bool full_range = false;  ///< marks YUV as full range
  bool bit_exact = false;   ///< no date, no name of the library: the same bytes every time
  int threads = 1;
  std::string begun{};      ///< when it was recorded, ISO 8601 with a Z; empty: not stated
  std::string container{};  ///< empty: by the ending of the name
  std::map<std::string, std::string> codec_options{};
};

/// Writes videos with libav's encoders, for captures of the lab and of the tests. Pictures are
/// given as densely packed bytes in the layout of the pixel format, planes one after the other:
/// what `ffmpeg -f rawvideo` writes. A path such as "moon_%04d.png" makes numbered pictures.
/// @throws std::runtime_error
class VideoWriter {
 public:
  VideoWriter(const std::string& path, const VideoFormat& format);
  ~VideoWriter();
  VideoWriter(const VideoWriter&) = delete;
  VideoWriter& operator=(const VideoWriter&) = delete;

  /// Bytes of one picture.
  [[nodiscard]] std::size_t picture_bytes() const;

  void add(std::span<const std::byte> picture);

  /// Leaves out the time of so many pictures: the next one is later.
  void skip(int pictures);

  /// Completes the file. Called once, after the last picture.
  void finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// The whole file at once.
void write_video(const std::string& path, const VideoFormat& format,
                 const std::vector<std::vector<std::byte>>& pictures);

/// Bytes of 8- or 16-bit samples, for VideoWriter::add.
[[nodiscard]] std::vector<std::byte> bytes_of(std::span<const std::uint8_t> samples);
[[nodiscard]] std::vector<std::byte> bytes_of(std::span<const std::uint16_t> samples);

}  // namespace lull::lab
