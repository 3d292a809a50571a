#include "desk/frame_picture.h"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include "core/parallel.h"
#include "stack/colour_frame.h"

namespace lull::desk {

namespace {

SampleView part_of(SampleView samples, const Box& box) {
  const std::ptrdiff_t bytes = samples.type == SampleType::u8 ? 1 : 2;
  samples.data += box.y0 * samples.stride_bytes + box.x0 * bytes;
  samples.width_px = box.width_px();
  samples.height_px = box.height_px();
  return samples;
}

Plane light_in(const SampleView& samples, const SampleScale& scale, const Box& box) {
  Plane out(box.width_px(), box.height_px());
  to_plane(part_of(samples, box), scale, out.view());
  return out;
}

// A sample has its own colour; of the others the mean over the 3 x 3 around it, in which each is
// met once at least, but at the edges of a mosaic of one row or column.
void fill_pixel(PlaneView mosaic, capture::Cfa cfa, Place at, std::array<float, 3>& out) {
  std::array<float, 3> sum{};
  std::array<float, 3> count{};
  for (int y = std::max(at.y - 1, 0); y <= std::min(at.y + 1, mosaic.height_px - 1); ++y) {
    for (int x = std::max(at.x - 1, 0); x <= std::min(at.x + 1, mosaic.width_px - 1); ++x) {
      const auto colour = static_cast<std::size_t>(capture::cfa_colour_at(cfa, x, y));
      sum[colour] += mosaic.row(y)[x];
      count[colour] += 1;
    }
  }
  for (std::size_t c = 0; c < 3; ++c) out[c] = count[c] > 0 ? sum[c] / count[c] : 0;
  out[static_cast<std::size_t>(capture::cfa_colour_at(cfa, at.x, at.y))] = mosaic.row(at.y)[at.x];
}

files::Picture colours_of(const capture::Frame& frame, const capture::CaptureInfo& info,
                          const Box& box) {
  const Size size = frame.size();
  const Box around = Box{box.x0 - 2, box.y0 - 2, box.x1 + 2, box.y1 + 2}.intersection(
      {0, 0, size.width_px, size.height_px});
  const Plane mosaic = light_in(frame.planes[0], info.scale, around);
  const capture::Cfa cfa = capture::moved_cfa(info.cfa, around.x0, around.y0);
  files::Picture out = files::make_picture({box.width_px(), box.height_px()}, 3);
  parallel_for(box.height_px(), [&](std::int64_t y) {
    std::array<float, 3> pixel{};
    for (int x = 0; x < box.width_px(); ++x) {
      fill_pixel(mosaic.view(), cfa,
                 {x + box.x0 - around.x0, static_cast<int>(y) + box.y0 - around.y0}, pixel);
      for (std::size_t c = 0; c < 3; ++c) out.channels[c].row(static_cast<int>(y))[x] = pixel[c];
    }
  });
  return out;
}

template <class T>
void append_row(const std::vector<SampleView>& planes, int y, std::string& out) {
  for (int x = 0; x < planes.front().width_px; ++x) {
    for (const SampleView& plane : planes) {
      const auto value = static_cast<std::uint16_t>(plane.row<T>(y)[x]);
      out += static_cast<char>(value & 0xffU);
      out += static_cast<char>(value >> 8U);
    }
  }
}

}  // namespace

files::Picture light_of(const capture::Frame& frame, const capture::CaptureInfo& info,
                        const Box& box) {
  files::Picture out;
  if (info.colour == capture::Colour::cfa) return colours_of(frame, info, box);
  if (info.colour == capture::Colour::yuv) {
    stack::ColourFrame colours;
    colours.assign(frame, info);
    for (int c = 0; c < 3; ++c)
      out.channels.push_back(Plane::copy_of(colours.plane(c).view().crop(box)));
    return out;
  }
  for (int c = 0; c < frame.plane_count; ++c)
    out.channels.push_back(light_in(frame.planes[static_cast<std::size_t>(c)], info.scale, box));
  return out;
}

files::Picture reduced(files::Picture picture, int side) {
  if (side <= 1) return picture;
  files::Picture out = files::make_picture(
      {std::max(1, picture.size().width_px / side), std::max(1, picture.size().height_px / side)},
      static_cast<int>(picture.channels.size()));
  const int across = std::min(side, picture.size().width_px);
  const int down = std::min(side, picture.size().height_px);
  for (std::size_t c = 0; c < out.channels.size(); ++c) {
    parallel_for(out.size().height_px, [&](std::int64_t row) {
      const int y = static_cast<int>(row);
      for (int x = 0; x < out.size().width_px; ++x) {
        float sum = 0;
        for (int j = 0; j < down; ++j) {
          const float* from = picture.channels[c].row(y * side + j) + x * side;
          for (int i = 0; i < across; ++i) sum += from[i];
        }
        out.channels[c].row(y)[x] = sum / static_cast<float>(across * down);
      }
    });
  }
  return out;
}

std::string sample_bytes(const files::PictureView& picture, const files::Encoding& encoding) {
  const Size size = picture.size();
  const std::size_t row_samples = static_cast<std::size_t>(size.width_px) * picture.channels.size();
  std::string out(2 * row_samples * static_cast<std::size_t>(size.height_px), '\0');
  parallel_for(size.height_px, [&](std::int64_t y) {
    std::vector<std::uint16_t> row(row_samples);
    static_cast<void>(files::encode_row(picture.channels, static_cast<int>(y), encoding, row));
    char* to = out.data() + 2 * row_samples * static_cast<std::size_t>(y);
    for (const std::uint16_t value : row) {
      *to++ = static_cast<char>(value & 0xffU);
      *to++ = static_cast<char>(value >> 8U);
    }
  });
  return out;
}

std::string recorded_bytes(const capture::Frame& frame, const Box& box) {
  std::vector<SampleView> planes;
  for (int c = 0; c < frame.plane_count; ++c)
    planes.push_back(part_of(frame.planes[static_cast<std::size_t>(c)], box));
  std::string out;
  out.reserve(2 * planes.size() * static_cast<std::size_t>(planes.front().size().area_px()));
  for (int y = 0; y < box.height_px(); ++y) {
    if (planes.front().type == SampleType::u8)
      append_row<std::uint8_t>(planes, y, out);
    else
      append_row<std::uint16_t>(planes, y, out);
  }
  return out;
}

}  // namespace lull::desk
