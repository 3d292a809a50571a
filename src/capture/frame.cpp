#include "capture/frame.h"

#include <algorithm>
#include <utility>

namespace lull::capture {

std::string_view colour_name(Colour colour) {
  switch (colour) {
    case Colour::mono:
      return "mono";
    case Colour::cfa:
      return "cfa";
    case Colour::rgb:
      return "rgb";
    case Colour::yuv:
      return "yuv";
    case Colour::luma:
      return "luma";
  }
  return "unknown";
}

std::string_view cfa_name(Cfa cfa) {
  switch (cfa) {
    case Cfa::none:
      return "none";
    case Cfa::rggb:
      return "RGGB";
    case Cfa::bggr:
      return "BGGR";
    case Cfa::gbrg:
      return "GBRG";
    case Cfa::grbg:
      return "GRBG";
  }
  return "unknown";
}

int cfa_colour_at(Cfa cfa, int x, int y) {
  constexpr int kRed = 0, kGreen = 1, kBlue = 2;
  const bool odd_x = (x & 1) != 0;
  const bool odd_y = (y & 1) != 0;
  switch (cfa) {
    case Cfa::none:
      return kGreen;
    case Cfa::rggb:
      return odd_x != odd_y ? kGreen : (odd_x ? kBlue : kRed);
    case Cfa::bggr:
      return odd_x != odd_y ? kGreen : (odd_x ? kRed : kBlue);
    case Cfa::grbg:
      return odd_x == odd_y ? kGreen : (odd_x ? kRed : kBlue);
    case Cfa::gbrg:
      return odd_x == odd_y ? kGreen : (odd_x ? kBlue : kRed);
  }
  return kGreen;
}

Cfa moved_cfa(Cfa cfa, int x, int y) {
  for (const Cfa one : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
    bool same = cfa != Cfa::none;
    for (const auto& [dx, dy] : {std::pair{0, 0}, {1, 0}, {0, 1}, {1, 1}}) {
      same = same && cfa_colour_at(one, dx, dy) == cfa_colour_at(cfa, x + dx, y + dy);
    }
    if (same) return one;
  }
  return Cfa::none;
}

namespace {

template <class T>
int dead_rows_of(const SampleView& samples) {
  int rows = 0;
  for (int y = samples.height_px - 1; y >= 0; --y) {
    const T* row = samples.row<T>(y);
    if (std::any_of(row, row + samples.width_px, [row](T value) { return value != row[0]; })) break;
    ++rows;
  }
  return rows;
}

}  // namespace

int dead_rows(const SampleView& samples) {
  return samples.type == SampleType::u8 ? dead_rows_of<std::uint8_t>(samples)
                                        : dead_rows_of<std::uint16_t>(samples);
}

}  // namespace lull::capture
