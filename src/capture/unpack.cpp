#include "capture/unpack.h"

#include <cstdint>
#include <cstring>
#include <utility>
#include <vector>

#include "capture/palette.h"
#include "capture/rotation.h"

namespace lull::capture {

namespace {

using Memory = std::shared_ptr<std::byte[]>;

/// Owner of a frame's samples: libav's picture, or copies, or both.
struct Storage {
  AvFrame picture;
  std::vector<Memory> copies;

  [[nodiscard]] std::byte* add_copy(Size size, SampleType type) {
    const std::size_t bytes =
        static_cast<std::size_t>(size.area_px()) * (type == SampleType::u8 ? 1U : 2U);
    return copies.emplace_back(std::make_shared_for_overwrite<std::byte[]>(bytes)).get();
  }
};

/// One component of a picture, before it is copied: samples `step_bytes` apart.
struct Source {
  const std::byte* data = nullptr;
  std::ptrdiff_t stride_bytes = 0;
  int step_bytes = 1;
  Size size;
};

[[nodiscard]] Source source_of(const AVFrame& picture, const ComponentLayout& component,
                               Size size) {
  const auto* plane = reinterpret_cast<const std::byte*>(picture.data[component.plane]);
  return {plane + component.offset_bytes, picture.linesize[component.plane], component.step_bytes,
          size};
}

/// Rows of samples that are `Step` samples apart. Step 0: any distance, in bytes, unaligned.
template <class T, int Step>
void gather_row(const std::byte* from, int step_bytes, int width, T* to) {
  if constexpr (Step == 0) {
    for (int x = 0; x < width; ++x) {
      std::memcpy(to + x, from + static_cast<std::ptrdiff_t>(x) * step_bytes, sizeof(T));
    }
  } else {
    for (int x = 0; x < width; ++x) {
      std::memcpy(to + x,
                  from + static_cast<std::ptrdiff_t>(x) * Step * static_cast<int>(sizeof(T)),
                  sizeof(T));
    }
  }
}

void swap_row(std::uint16_t* row, int width) {
  for (int x = 0; x < width; ++x)
    row[x] = static_cast<std::uint16_t>((row[x] << 8) | (row[x] >> 8));
}

template <class T>
void gather(const Source& source, bool swap_bytes, std::byte* out) {
  T* to = reinterpret_cast<T*>(out);
  const int width = source.size.width_px;
  for (int y = 0; y < source.size.height_px; ++y, to += width) {
    const std::byte* from = source.data + y * source.stride_bytes;
    switch (source.step_bytes / static_cast<int>(sizeof(T))) {
      case 1:
        gather_row<T, 1>(from, source.step_bytes, width, to);
        break;
      case 2:
        gather_row<T, 2>(from, source.step_bytes, width, to);
        break;
      case 3:
        gather_row<T, 3>(from, source.step_bytes, width, to);
        break;
      case 4:
        gather_row<T, 4>(from, source.step_bytes, width, to);
        break;
      default:
        gather_row<T, 0>(from, source.step_bytes, width, to);
        break;
    }
    if constexpr (sizeof(T) == 2) {
      if (swap_bytes) swap_row(to, width);
    }
  }
}

[[nodiscard]] SampleView dense_view(const std::byte* data, Size size, SampleType type) {
  return {data, size.width_px, size.height_px,
          static_cast<std::ptrdiff_t>(size.width_px) * (type == SampleType::u8 ? 1 : 2), type};
}

[[nodiscard]] bool usable_in_place(const Source& source, const PixelLayout& layout) {
  if (layout.big_endian || source.step_bytes != layout.sample_bytes()) return false;
  // Packets of some containers begin at odd addresses; 16-bit samples may not.
  const auto address = reinterpret_cast<std::uintptr_t>(source.data);
  return layout.type == SampleType::u8 || (address % 2 == 0 && source.stride_bytes % 2 == 0);
}

[[nodiscard]] SampleView component_view(Storage& storage, const PixelLayout& layout,
                                        const ComponentLayout& component, Size size) {
  const Source source = source_of(*storage.picture, component, size);
  if (usable_in_place(source, layout)) {
    return {source.data, source.size.width_px, source.size.height_px, source.stride_bytes,
            layout.type};
  }
  std::byte* copy = storage.add_copy(source.size, layout.type);
  if (layout.type == SampleType::u8) {
    gather<std::uint8_t>(source, false, copy);
  } else {
    gather<std::uint16_t>(source, layout.big_endian, copy);
  }
  return dense_view(copy, source.size, layout.type);
}

[[nodiscard]] SampleView palette_view(Storage& storage, int colour) {
  const Source source =
      source_of(*storage.picture, {}, {storage.picture->width, storage.picture->height});
  const auto table = palette_table(*storage.picture, colour);
  std::byte* copy = storage.add_copy(source.size, SampleType::u8);
  std::byte* to = copy;
  for (int y = 0; y < source.size.height_px; ++y) {
    const std::byte* from = source.data + y * source.stride_bytes;
    for (int x = 0; x < source.size.width_px; ++x) {
      *to++ = static_cast<std::byte>(table[std::to_integer<std::size_t>(from[x])]);
    }
  }
  return dense_view(copy, source.size, SampleType::u8);
}

[[nodiscard]] SampleView turned_view(Storage& storage, const SampleView& view, int quarters) {
  const Size size = turned_size(view.size(), quarters);
  std::byte* upright = storage.add_copy(size, view.type);
  turn(view, quarters, upright);
  return dense_view(upright, size, view.type);
}

[[nodiscard]] bool stands_in_picture(const SampleView& view, const Storage& storage) {
  for (const Memory& copy : storage.copies) {
    if (copy.get() == view.data) return false;
  }
  return true;
}

}  // namespace

Frame unpack(AvFrame picture, const PixelLayout& layout, int quarters) {
  auto storage = std::make_shared<Storage>();
  storage->picture = std::move(picture);
  const Size stored{storage->picture->width, storage->picture->height};
  Frame frame;
  frame.plane_count = layout.plane_count;
  bool picture_is_used = false;
  const auto take = [&](SampleView view) {
    if (quarters != 0) view = turned_view(*storage, view, quarters);
    picture_is_used = picture_is_used || stands_in_picture(view, *storage);
    return view;
  };
  for (std::size_t i = 0; i < static_cast<std::size_t>(layout.plane_count); ++i) {
    frame.planes[i] =
        take(layout.palette ? palette_view(*storage, static_cast<int>(i))
                            : component_view(*storage, layout, layout.components[i], stored));
  }
  for (std::size_t i = 0; layout.colour == Colour::yuv && i < 2; ++i) {
    frame.chroma[i] = take(component_view(*storage, layout, layout.components[i + 1],
                                          layout.chroma.size_beside(stored)));
  }
  if (!picture_is_used) storage->picture.reset();  // back to the decoder's pool
  // Decoders keep pictures that others are predicted from.
  frame.sole_owner = !picture_is_used || av_frame_is_writable(storage->picture.get()) > 0;
  frame.storage = std::move(storage);
  return frame;
}

}  // namespace lull::capture
