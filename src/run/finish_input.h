#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "files/picture.h"
#include "finish/restore.h"

namespace lull::run {

/// A picture to finish.
struct FinishInput {
  files::Picture picture;
  finish::Measurements measured;      ///< from its half stacks, or from the picture itself
  bool has_halves = false;            ///< which of the two
  std::vector<files::Card> cards;     ///< of the stack; empty for other pictures
  bool stretched = false;             ///< its values are not proportional to light
  std::vector<std::string> warnings;  ///< what harms the result, and what to do about it
};

/// Reads a linear stack of `lull stack`, or any picture.
/// @throws InputError: unreadable, with NaN or infinite samples, an alpha channel, several images,
///         a side under 16 px, or more pixels than fit the memory of this machine.
[[nodiscard]] FinishInput read_finish_input(const std::filesystem::path& path);

/// Adds the FRC by place where the input is a mosaic with half stacks: its panels saw different
/// air.
void measure_places(FinishInput& input);

}  // namespace lull::run
