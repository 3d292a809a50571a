#include "draw/annotate.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "core/words.h"
#include "draw/text.h"

namespace lull::draw {

namespace {

constexpr int kPlainWidth = 640;  // px; letters of wider pictures grow in proportion
constexpr double kLetterPx = 14;  // size of the font, and below: in a picture up to that width
constexpr double kMarginPx = 6;
constexpr double kBarPx = 3;  // thickness

// Sizes of the annotation under a picture, px.
struct Layout {
  explicit Layout(int width_px)
      : scale(std::max(1.0, static_cast<double>(width_px) / kPlainWidth)),
        margin(scaled(kMarginPx)),
        bar(scaled(kBarPx)),
        room(std::max(1, width_px - 2 * margin)),
        font(scaled(kLetterPx)) {}

  [[nodiscard]] int scaled(double length_px) const {
    return static_cast<int>(std::lround(scale * length_px));
  }

  double scale;
  int margin;
  int bar;
  int room;  // between the margins
  Font font;
};

void fill_white(files::Picture& picture, int x, int y, int width, int height) {
  for (Plane& plane : picture.channels) {
    for (int j = y; j < y + height; ++j)
      std::fill_n(plane.row(j) + x, std::clamp(plane.width() - x, 0, width), 1.0F);
  }
}

// The picture at the top of a black one that is higher.
files::Picture extended(const files::PictureView& picture, int more_px) {
  const Size size = picture.size();
  files::Picture out = files::make_picture({size.width_px, size.height_px + more_px},
                                           static_cast<int>(picture.channels.size()));
  for (std::size_t c = 0; c < picture.channels.size(); ++c) {
    for (int y = 0; y < size.height_px; ++y)
      std::copy_n(picture.channels[c].row(y), size.width_px, out.channels[c].row(y));
  }
  return out;
}

}  // namespace

files::Picture annotated(const files::PictureView& picture, const Annotation& annotation) {
  const Size size = picture.size();
  const Layout layout(size.width_px);
  const Font& font = layout.font;
  std::vector<std::u32string> lines;
  std::u32string beside;  // the bar
  if (annotation.bar) {
    beside = characters_of(annotation.bar->label);
    const int left = layout.room - annotation.bar->length_px - layout.margin;
    if (font.width_px(beside) > left) {
      lines = font.wrapped(beside, layout.room);
      beside.clear();
    }
  }
  for (auto& line :
       font.wrapped(characters_of(with_bound_numbers(annotation.caption)), layout.room))
    lines.push_back(std::move(line));
  const int rows = static_cast<int>(lines.size()) + (annotation.bar ? 1 : 0);
  files::Picture out = extended(picture, rows * font.line_height_px() + 2 * layout.margin);
  int baseline = size.height_px + layout.margin + font.ascent_px();
  if (annotation.bar) {
    const int length = annotation.bar->length_px;
    // Level with the middle of the label's figures.
    const int top = baseline - (font.cap_height_px() + layout.bar) / 2;
    fill_white(out, layout.margin, top, length, layout.bar);
    font.write(beside, 2 * layout.margin + length, baseline, out);
    baseline += font.line_height_px();
  }
  for (const std::u32string& line : lines) {
    font.write(line, layout.margin, baseline, out);
    baseline += font.line_height_px();
  }
  return out;
}

}  // namespace lull::draw
