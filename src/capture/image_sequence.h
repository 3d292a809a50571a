#pragma once

#include <memory>
#include <optional>
#include <string>

#include "capture/packet_source.h"

namespace lull::capture {

/// A name such as "moon_%04d.png": folder, text before the number, its least width, text after.
struct SequencePattern {
  std::string folder;
  std::string before;
  int digits = 0;  ///< numbers are filled up with zeros to this width; 0 = as they are
  std::string after;

  [[nodiscard]] std::string path_of(std::int64_t number) const;
};

/// The pattern in the last part of a path: one %d or %0Nd, and %% for a percent sign.
[[nodiscard]] std::optional<SequencePattern> parse_pattern(const std::string& path);

/// Pictures numbered by the pattern, from the smallest number that exists to the largest. Missing
/// numbers within become damaged frames. @throws InputError: no such picture, or not pictures.
[[nodiscard]] std::unique_ptr<PacketSource> open_sequence(const SequencePattern& pattern,
                                                          const std::string& shown_path);

/// One picture: a capture of one frame. @throws InputError
[[nodiscard]] std::unique_ptr<PacketSource> open_picture(const std::string& path);

}  // namespace lull::capture
