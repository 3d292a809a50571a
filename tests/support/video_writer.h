#pragma once

// Test videos are written by the lab's writer.
#include "lab/video_writer.h"

namespace lull::test {

using lab::bytes_of;
using lab::VideoFormat;
using lab::VideoWriter;
using lab::write_video;

}  // namespace lull::test
