#pragma once

#include <string>
#include <vector>

#include "support/bytes.h"
#include "support/temporary_folder.h"

namespace lull::test {

/// A capture of a few small frames, whole and sound.
struct SmallCapture {
  std::string name;  ///< with its ending
  Bytes bytes;
};

/// Parts of the samples, 64 x 48 px and 6 frames, in each main kind of file: SER with time stamps,
/// AVI, Matroska, MP4, NUT, FITS; raw, FFV1, MJPEG, H.264, PNG; 8 and 16 bit, mosaic, YUV.
[[nodiscard]] std::vector<SmallCapture> small_captures(const TemporaryFolder& folder);

}  // namespace lull::test
