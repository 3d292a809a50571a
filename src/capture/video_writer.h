#pragma once

#include <filesystem>
#include <memory>

#include "capture/capture.h"

namespace lull::capture {

/// Writes frames of one capture as a lossless video: FFV1 version 3 (RFC 9043) in Matroska (RFC
/// 9559), every frame a key frame, every slice with a checksum.
///
/// Samples are stored unchanged. Where the capture's pixel format has 9, 10 or 12 bits (colour:
/// also 14), the video has the same. Other 16-bit words are written as 16 bits; opening the video
/// finds their depth from the samples again. Luma in video range is marked so, except for the
/// 14-bit kind, which FFV1 has no format for. A video cannot state a black level other than 0, such
/// as that of calibrated frames. A mosaic is written as gray, since FFV1 has no format for it: name
/// the CFA when reading the video.
///
/// The same frames give the same bytes, on any number of threads. One writer, one thread.
class VideoWriter {
 public:
  /// Nothing stands under that name before finish(), and an earlier file of it stays until then
  /// (AtomicFile). The format does not depend on the name.
  /// @param info             of the capture that the frames come from.
  /// @param frames_per_s     playback speed, limited to 1 to 999 (Matroska counts whole ms here);
  ///                         25 if it is 0, negative or not a number.
  /// @param encoder_threads  0 = as many as the machine has.
  /// @throws OutputError: the folder is missing or protected, or frames are too narrow: sides of 2
  /// px at least are needed, 4 px in frames wider than 352 or higher than 288.
  VideoWriter(const std::filesystem::path& path, const CaptureInfo& info, double frames_per_s,
              int encoder_threads = 0);
  /// Without finish() nothing is left.
  ~VideoWriter();
  VideoWriter(const VideoWriter&) = delete;
  VideoWriter& operator=(const VideoWriter&) = delete;

  /// Appends a frame. @throws OutputError: the disk is full or fails, or the frame has samples
  /// beyond the bits that its pixel format promises.
  void add(const Frame& frame);

  /// Completes the file and gives it its name. Called once, after the last frame. @throws
  /// OutputError
  void finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace lull::capture
