#include "capture/chroma_layout.h"

#include <array>

namespace lull::capture {

namespace {

constexpr int kFirstHighDefinition = 720;  // rows; common practice, no source

struct Matrix {
  AVColorSpace name;
  double red;
  double blue;
};

// ITU-T H.273, table 4 (MatrixCoefficients).
constexpr std::array<Matrix, 6> kMatrices = {{
    {AVCOL_SPC_SMPTE170M, 0.299, 0.114},  // BT.601
    {AVCOL_SPC_BT470BG, 0.299, 0.114},
    {AVCOL_SPC_BT709, 0.2126, 0.0722},
    {AVCOL_SPC_FCC, 0.30, 0.11},
    {AVCOL_SPC_SMPTE240M, 0.212, 0.087},
    {AVCOL_SPC_BT2020_NCL, 0.2627, 0.0593},
}};

const Matrix* matrix_of(const AVFrame& picture, SampleRange range) {
  AVColorSpace name = picture.colorspace;
  if (name == AVCOL_SPC_UNSPECIFIED || name == AVCOL_SPC_RESERVED) {
    name = range == SampleRange::video && picture.height >= kFirstHighDefinition
               ? AVCOL_SPC_BT709
               : AVCOL_SPC_SMPTE170M;
  }
  for (const Matrix& matrix : kMatrices) {
    if (matrix.name == name) return &matrix;
  }
  return nullptr;
}

AVChromaLocation location_of(const AVFrame& picture, SampleRange range) {
  if (picture.chroma_location != AVCHROMA_LOC_UNSPECIFIED) return picture.chroma_location;
  return range == SampleRange::video ? AVCHROMA_LOC_LEFT : AVCHROMA_LOC_CENTER;
}

}  // namespace

std::optional<Chroma> chroma_of(const AVFrame& picture, const AVPixFmtDescriptor& format,
                                SampleRange range) {
  const Matrix* matrix = matrix_of(picture, range);
  if (matrix == nullptr) return std::nullopt;
  Chroma chroma;
  chroma.columns = 1 << format.log2_chroma_w;
  chroma.rows = 1 << format.log2_chroma_h;
  chroma.red = matrix->red;
  chroma.blue = matrix->blue;
  // ITU-T H.273, 8.7: left, centre and so on of the luma samples that share one of chroma.
  const AVChromaLocation location = location_of(picture, range);
  const bool left = location == AVCHROMA_LOC_LEFT || location == AVCHROMA_LOC_TOPLEFT ||
                    location == AVCHROMA_LOC_BOTTOMLEFT;
  const bool top = location == AVCHROMA_LOC_TOPLEFT || location == AVCHROMA_LOC_TOP;
  const bool bottom = location == AVCHROMA_LOC_BOTTOMLEFT || location == AVCHROMA_LOC_BOTTOM;
  chroma.first_x_px = left ? 0 : 0.5 * (chroma.columns - 1);
  chroma.first_y_px = top ? 0 : (bottom ? 1 : 0.5) * (chroma.rows - 1);
  const int bits = format.comp[1].depth;
  const int shift = format.comp[1].shift;
  // Difference signals span 224 levels of video range, else all: ITU-R BT.601-7, JFIF 1.02.
  const double levels = range == SampleRange::video ? 224.0 * (1 << (bits - 8)) : (1 << bits) - 1.0;
  chroma.scale = {static_cast<double>(1 << (bits - 1 + shift)), 1 / (levels * (1 << shift))};
  return chroma;
}

void describe_chroma(const Chroma& chroma, AVCodecContext& stream) {
  for (const Matrix& matrix : kMatrices) {
    if (matrix.red != chroma.red || matrix.blue != chroma.blue) continue;
    stream.colorspace = matrix.name;
    break;
  }
  const bool left = chroma.columns > 1 && chroma.first_x_px == 0;
  const bool middle = chroma.first_y_px == 0.5 * (chroma.rows - 1);
  const bool top = chroma.first_y_px == 0;
  stream.chroma_sample_location = middle ? (left ? AVCHROMA_LOC_LEFT : AVCHROMA_LOC_CENTER)
                                  : top  ? (left ? AVCHROMA_LOC_TOPLEFT : AVCHROMA_LOC_TOP)
                                  : left ? AVCHROMA_LOC_BOTTOMLEFT
                                         : AVCHROMA_LOC_BOTTOM;
}

}  // namespace lull::capture
