#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "core/geometry.h"
#include "files/fits_boxes.h"
#include "run/finish_input.h"

namespace lull::run {

/// A mosaic of more pixels is finished in parts, on any machine, so that its bytes are the same.
/// Whole, it takes 130 bytes a pixel.
inline constexpr std::int64_t kMostWholePx = 24'000'000;

/// A linear mosaic in its file, of which parts are read.
class LargeInput {
 public:
  /// A part of it. Where nothing is covered, the light is 0.
  struct Part {
    files::Picture light;
    std::vector<Plane> noise;  ///< of each channel; empty = no half stacks
    Plane covered;             ///< 1 where a panel shows something, else 0
  };

  /// @param path  a file of MosaicFile. @throws InputError.
  explicit LargeInput(const std::filesystem::path& path);

  [[nodiscard]] Size size() const { return light_.size; }

  [[nodiscard]] std::size_t channels() const { return light_.channels; }

  [[nodiscard]] bool has_halves() const { return noise_.channels > 0; }

  [[nodiscard]] bool is_mosaic() const { return light_.channels > 0 && cover_.channels > 0; }

  [[nodiscard]] Part read(const Box& box);

  /// Light and cover alone.
  [[nodiscard]] Part read_light(const Box& box);

  /// All that does not grow with the picture: curves, cards.
  FinishInput rest;

 private:
  files::FitsBoxes file_;
  files::FitsBoxes::Image light_;
  files::FitsBoxes::Image noise_;
  files::FitsBoxes::Image cover_;
};

/// Whether a file is a linear mosaic that is finished in parts. @throws InputError: damaged.
[[nodiscard]] bool is_large_mosaic(const std::filesystem::path& path);

/// The whole of it, as read_finish_input() gives it. @param input  a mosaic of up to kMostWholePx.
[[nodiscard]] FinishInput whole_of(LargeInput& input);

}  // namespace lull::run
