// Compiled once for each instruction set: LULL_KERNEL_LEVEL names the namespace. Nothing but
// plain loops here, and no library templates: those would be compiled for the same set and could
// be the copy that the linker keeps for the whole program.
#include <stddef.h>
#include <stdint.h>

namespace lull::quality::LULL_KERNEL_LEVEL {

namespace {

inline uint32_t square(int value) { return static_cast<uint32_t>(value * value); }

inline float square(float value) { return value * value; }

inline int magnitude(int value) { return value < 0 ? -value : value; }

inline float magnitude(float value) { return value < 0.0F ? -value : value; }

// Wide<T>: the type in which differences of T are exact.
template <class T>
struct WideOf;

template <>
struct WideOf<uint8_t> {
  using Type = int;
};

template <>
struct WideOf<uint16_t> {
  using Type = float;
};

template <>
struct WideOf<float> {
  using Type = float;
};

template <class T, class Sum>
void gradient(const T* up, const T* mid, const T* down, int width, Sum* sum) {
  using Wide = typename WideOf<T>::Type;
  for (int x = 1; x < width - 1; ++x) {
    const Wide dx = static_cast<Wide>(mid[x + 1]) - static_cast<Wide>(mid[x - 1]);
    const Wide dy = static_cast<Wide>(down[x]) - static_cast<Wide>(up[x]);
    sum[x] += square(dx) + square(dy);
  }
}

template <class T, class Sum, class Wide = typename WideOf<T>::Type>
void laplacian(const T* up, const T* mid, const T* down, int width, Sum* sum) {
  for (int x = 1; x < width - 1; ++x) {
    const Wide value = static_cast<Wide>(4) * static_cast<Wide>(mid[x]) -
                       (static_cast<Wide>(mid[x - 1]) + static_cast<Wide>(mid[x + 1])) -
                       (static_cast<Wide>(up[x]) + static_cast<Wide>(down[x]));
    sum[x] += square(value);
  }
}

template <class T, class Sum>
void modified_laplacian(const T* up, const T* mid, const T* down, int width, Sum* sum) {
  using Wide = typename WideOf<T>::Type;
  for (int x = 1; x < width - 1; ++x) {
    const Wide twice = static_cast<Wide>(2) * static_cast<Wide>(mid[x]);
    const Wide across = twice - static_cast<Wide>(mid[x - 1]) - static_cast<Wide>(mid[x + 1]);
    const Wide along = twice - static_cast<Wide>(up[x]) - static_cast<Wide>(down[x]);
    sum[x] += static_cast<Sum>(magnitude(across) + magnitude(along));
  }
}

template <class In, class Out>
void add_blocks(const In* first, const In* second, int count, Out* out) {
  for (ptrdiff_t x = 0; x < count; ++x) {
    out[x] =
        static_cast<Out>(static_cast<Out>(first[2 * x]) + static_cast<Out>(first[2 * x + 1]) +
                         static_cast<Out>(second[2 * x]) + static_cast<Out>(second[2 * x + 1]));
  }
}

template <class T>
void box(const T* first, const T* second, int width, T* out) {
  for (int x = 0; x < width - 1; ++x) {
    out[x] = static_cast<T>(first[x] + first[x + 1] + second[x] + second[x + 1]);
  }
}

}  // namespace

void gradient_u8(const uint8_t* up, const uint8_t* mid, const uint8_t* down, int width,
                 uint32_t* sum) {
  gradient(up, mid, down, width, sum);
}

void gradient_u16(const uint16_t* up, const uint16_t* mid, const uint16_t* down, int width,
                  float* sum) {
  gradient(up, mid, down, width, sum);
}

void laplacian_u8(const uint8_t* up, const uint8_t* mid, const uint8_t* down, int width,
                  uint32_t* sum) {
  laplacian(up, mid, down, width, sum);
}

void laplacian_u16(const uint16_t* up, const uint16_t* mid, const uint16_t* down, int width,
                   float* sum) {
  laplacian(up, mid, down, width, sum);
}

void modified_laplacian_u8(const uint8_t* up, const uint8_t* mid, const uint8_t* down, int width,
                           uint32_t* sum) {
  modified_laplacian(up, mid, down, width, sum);
}

void modified_laplacian_u16(const uint16_t* up, const uint16_t* mid, const uint16_t* down,
                            int width, float* sum) {
  modified_laplacian(up, mid, down, width, sum);
}

void halve_u8(const uint8_t* first, const uint8_t* second, int half_width, uint16_t* half) {
  add_blocks(first, second, half_width, half);
}

void halve_u16(const uint16_t* first, const uint16_t* second, int half_width, float* half) {
  add_blocks(first, second, half_width, half);
}

void box_u16(const uint16_t* first, const uint16_t* second, int width, uint16_t* out) {
  box(first, second, width, out);
}

void box_f32(const float* first, const float* second, int width, float* out) {
  box(first, second, width, out);
}

void box_laplacian_u16(const uint16_t* up, const uint16_t* mid, const uint16_t* down, int width,
                       uint32_t* sum) {
  // |value| <= 4 * 4080, so it fits 16 bits and the compiler may use the short multiply.
  for (int x = 1; x < width - 1; ++x) {
    const auto value = static_cast<int16_t>(4 * mid[x] - mid[x - 1] - mid[x + 1] - up[x] - down[x]);
    sum[x] += static_cast<uint32_t>(static_cast<int>(value) * static_cast<int>(value));
  }
}

void box_laplacian_f32(const float* up, const float* mid, const float* down, int width,
                       float* sum) {
  laplacian(up, mid, down, width, sum);
}

void quarter_u16(const uint16_t* first, const uint16_t* second, int quarter_width, float* quarter) {
  for (ptrdiff_t x = 0; x < quarter_width; ++x) {
    quarter[x] =
        static_cast<float>(first[2 * x] + first[2 * x + 1] + second[2 * x] + second[2 * x + 1]);
  }
}

void quarter_f32(const float* first, const float* second, int quarter_width, float* quarter) {
  add_blocks(first, second, quarter_width, quarter);
}

void smooth_f32(const float* up, const float* mid, const float* down, int width, float* out,
                float* scratch) {
  for (int x = 0; x < width; ++x) scratch[x] = 0.25F * (up[x] + down[x]) + 0.5F * mid[x];
  for (int x = 1; x < width - 1; ++x) {
    out[x] = 0.25F * (scratch[x - 1] + scratch[x + 1]) + 0.5F * scratch[x];
  }
}

}  // namespace lull::quality::LULL_KERNEL_LEVEL
