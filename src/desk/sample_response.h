#pragma once

#include "desk/http.h"
#include "files/metadata.h"
#include "files/picture.h"
#include "finish/levels.h"

namespace lull::desk {

/// How samples are sent, and first shown.
struct SampleForm {
  files::Encoding encoding{};  ///< light of the values 0 and 65535
  finish::Levels levels{};     ///< shown as black and white at first
  files::Transfer transfer = files::Transfer::linear;
  int reduction = 1;  ///< that the picture has gone through
};

/// Samples of 16 bits with the headers that say how to read them: src/docs/desk-api.md.
[[nodiscard]] Response sample_response(const files::PictureView& picture, const SampleForm& form);

/// The headers of the size alone, and the type.
void add_size(Response& out, Size size, std::size_t channels);

/// @throws Problem 400: more samples than one answer may have.
void check_samples(Size size, std::size_t channels);

}  // namespace lull::desk
