#pragma once

#include <filesystem>
#include <memory>

#include "capture/capture.h"

namespace lull::capture {

/// Writes frames of one capture as a lossless video: FFV1 version 3 (RFC 9043) in Matroska
/// (RFC 9559), every frame a key frame, every slice with a checksum.
///
/// Samples are stored word for word. Where the pixel format of the capture itself says 9, 10 or 12
/// bits (colour: also 14), so does that of the video; other 16-bit words are written as 16 bits,
/// and the depth is found in the samples again when the video is opened. Luma in video range is
/// marked so, except for the 14-bit kind, which FFV1 has no format for. Any other black than 0,
/// such as that of calibrated frames, cannot be told in a video. A mosaic is written as gray: FFV1
/// has no format for it either, so whoever reads the video must name the CFA.
///
/// The same frames give the same bytes, on any number of threads. One writer, one thread.
class VideoWriter {
 public:
  /// Creates the file, or empties the one that is there. The format does not depend on its name.
  /// @param info             of the capture that the frames come from.
  /// @param frames_per_s     speed of showing, brought into 1 to 999 (Matroska counts whole ms
  ///                         here); 25 if it is 0, negative or not a number.
  /// @param encoder_threads  0 = as many as the machine has.
  /// @throws OutputError: the folder is missing or protected, or frames are too narrow: sides of 2
  /// px at
  ///         least are needed, 4 px in frames wider than 352 or higher than 288.
  VideoWriter(const std::filesystem::path& path, const CaptureInfo& info, double frames_per_s,
              int encoder_threads = 0);
  /// Closes the file. Without finish() it is incomplete, and the caller removes it.
  ~VideoWriter();
  VideoWriter(VideoWriter&& other) noexcept;
  VideoWriter& operator=(VideoWriter&& other) noexcept;

  /// Appends a frame. @throws OutputError: the disk is full or fails, or the frame has samples
  /// beyond the bits that its pixel format promises.
  void add(const Frame& frame);

  /// Completes and closes the file. Called once, after the last frame. @throws OutputError
  void finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace lull::capture
