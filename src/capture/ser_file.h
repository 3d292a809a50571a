#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "capture/capture_times.h"
#include "core/geometry.h"

namespace lull::capture {

/// Header of a SER file, and what the file really holds. The header is 178 bytes, little-endian:
/// seven 32-bit integers at byte 14 (LuID, ColorID, LittleEndian, width, height, depth, frame
/// count), texts, the local date at 162 and that of UTC at 170; then the frames; then, maybe, one
/// 64-bit time stamp of UTC a frame. Dates are in units of 100 ns since the year 1. Source: the
/// demuxer of FFmpeg 5.1 (libavformat/serdec.c) for the header; dates and trailer from memory.
struct SerFile {
  int colour_id = 0;
  bool header_little_endian = true;
  bool little_endian = true;  ///< the order the samples are taken in
  Size size;
  int depth_bits = 0;  ///< of the header, a plane
  std::int64_t header_frames = 0;
  std::int64_t frame_bytes = 0;
  std::int64_t frames_at = 178;     ///< byte of the file at which they begin
  std::int64_t frames = 0;          ///< whole frames that are there
  std::vector<std::int64_t> ticks;  ///< time stamps of the trailer, 100 ns; empty: none
  CaptureTimes times;               ///< by the trailer, else by the header
  std::vector<std::string> notes;
};

}  // namespace lull::capture
