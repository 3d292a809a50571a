#include "capture/layout_choice.h"

#include <fmt/format.h>

#include "core/error.h"

namespace lull::capture {

namespace {

/// The reason against the choice; empty if there is none.
[[nodiscard]] std::string against_byte_order(const ChoiceContext& context,
                                             const PixelLayout& layout) {
  if (!context.is_raw) return "its frames are coded, and the codec has its own byte order";
  if (layout.sample_bytes() == 1) return "its samples have one byte each";
  return {};
}

[[nodiscard]] std::string against_mosaic(const PixelLayout& layout) {
  switch (layout.colour) {
    case Colour::mono:
    case Colour::cfa:
      return {};
    case Colour::rgb:
      return "its frames have red, green and blue at every pixel already";
    case Colour::yuv:
    case Colour::luma:
      break;
  }
  return "its frames are YUV, already demosaiced by the camera";
}

void refuse(const std::string& path, std::string_view choice, std::string_view reason) {
  throw UsageError(fmt::format("{}: {} does not apply to this capture: {}. Leave it out.", path,
                               choice, reason));
}

void apply_byte_order(const OpenOptions& options, const ChoiceContext& context,
                      PixelLayout& layout) {
  const std::string reason = against_byte_order(context, layout);
  const bool big = options.byte_order == ByteOrder::big;
  if (!reason.empty()) {
    if (options.misfit == Misfit::left_out) return;
    refuse(context.path, big ? "--byte-order big" : "--byte-order little", reason);
  }
  layout.big_endian = big;
}

void apply_cfa(const OpenOptions& options, const ChoiceContext& context, PixelLayout& layout) {
  const std::string reason = *options.cfa == Cfa::none ? "" : against_mosaic(layout);
  if (!reason.empty()) {
    if (options.misfit == Misfit::left_out) return;
    refuse(context.path, fmt::format("--cfa {}", cfa_name(*options.cfa)), reason);
  }
  if (layout.colour != Colour::mono && layout.colour != Colour::cfa) return;
  layout.cfa = *options.cfa;
  layout.colour = layout.cfa == Cfa::none ? Colour::mono : Colour::cfa;
}

}  // namespace

void apply_choices(const OpenOptions& options, const ChoiceContext& context, PixelLayout& layout) {
  if (options.byte_order != ByteOrder::automatic) apply_byte_order(options, context, layout);
  if (options.cfa) apply_cfa(options, context, layout);
}

}  // namespace lull::capture
