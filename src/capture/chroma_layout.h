#pragma once

#include <optional>

#include "capture/chroma.h"
#include "capture/frame.h"
#include "capture/libav.h"

namespace lull::capture {

/// What the colour differences of a YUV picture mean. Where the file does not name its matrix, the
/// one of ITU-R BT.709 is taken from 720 rows on, that of BT.601 below and for JPEG (JFIF 1.02);
/// where it does not state the position of chroma: between the luma samples for JPEG, else as in
/// MPEG-2.
/// @param range  of the luma.
/// @return nothing for matrices that are no weighted sums of red, green and blue.
[[nodiscard]] std::optional<Chroma> chroma_of(const AVFrame& picture,
                                              const AVPixFmtDescriptor& format, SampleRange range);

/// Describes such samples to the stream that is to hold them: the opposite of chroma_of().
void describe_chroma(const Chroma& chroma, AVCodecContext& stream);

}  // namespace lull::capture
