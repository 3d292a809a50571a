#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "capture/folder.h"
#include "capture/frame.h"

namespace lull::night {

/// What the frames of a capture show.
enum class Kind { light, dark, flat };

[[nodiscard]] std::string kind_name(Kind kind);

/// What a name says of its capture. Empty or none: nothing.
struct NameFacts {
  std::optional<Kind> kind{};
  std::string target{};  ///< a word of --object where it is one
  std::string filter{};
  std::string filter_word{};  ///< the same as the name has it: "red"
  std::string panel{};
  std::string date{};  ///< sorts as a text
  std::optional<double> exposure_s{};
  std::optional<double> gain{};
};

/// A capture, and all by which it finds those that belong to it.
struct Facts {
  capture::FoundCapture found;
  std::string name;  ///< within its folder, with the folders below: "2026-03-01/moon.ser"
  NameFacts said{};
  Kind kind = Kind::light;
  std::string kind_from{};  ///< "name", "content"; empty: nothing said otherwise
  Size size{};
  std::string colour{};  ///< "mono", "rgb", or the mosaic
  int stored_bits = 8;
  std::int64_t frames = 0;
  std::int64_t when_s = 0;  ///< since 0001-01-01: when it begins, or when its file was last written
  double need_bytes = 0;    ///< of a stack, see run/memory_need.h
  std::string problem{};    ///< why it cannot be opened; empty: it can
  std::string note{};       ///< what a user should know of it
  std::string copy_of{};    ///< a capture that has the same bytes as far as was read; empty: none
};

}  // namespace lull::night
