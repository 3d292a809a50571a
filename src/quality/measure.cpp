#include "quality/measure.h"

#include <algorithm>
#include <cmath>

#include "quality/row_kernels.h"

namespace lull::quality {

namespace {

// --- what white noise adds, by the stencil of each measure ---

using Stencil = std::vector<std::vector<double>>;

Stencil convolved(const Stencil& a, const Stencil& b) {
  Stencil out(a.size() + b.size() - 1, std::vector<double>(a[0].size() + b[0].size() - 1));
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t j = 0; j < a[0].size(); ++j) {
      for (std::size_t k = 0; k < b.size(); ++k) {
        for (std::size_t l = 0; l < b[0].size(); ++l) out[i + k][j + l] += a[i][j] * b[k][l];
      }
    }
  }
  return out;
}

Stencil spread(const Stencil& stencil, std::size_t step) {
  Stencil out((stencil.size() - 1) * step + 1,
              std::vector<double>((stencil[0].size() - 1) * step + 1));
  for (std::size_t i = 0; i < stencil.size(); ++i) {
    for (std::size_t j = 0; j < stencil[0].size(); ++j) out[i * step][j * step] = stencil[i][j];
  }
  return out;
}

Stencil block(std::size_t side) {
  const double value = 1.0 / static_cast<double>(side * side);
  return {side, std::vector<double>(side, value)};
}

double sum_of_squares(const Stencil& stencil) {
  double sum = 0;
  for (const auto& row : stencil) {
    for (const double value : row) sum += value * value;
  }
  return sum;
}

const Stencil kSmooth = {
    {1 / 16., 2 / 16., 1 / 16.}, {2 / 16., 4 / 16., 2 / 16.}, {1 / 16., 2 / 16., 1 / 16.}};
const Stencil kLaplacian = {{0, -1, 0}, {-1, 4, -1}, {0, -1, 0}};
const Stencil kAcross = {{-1, 0, 1}};
const Stencil kDown = {{-1}, {0}, {1}};
const Stencil kSecondAcross = {{-1, 2, -1}};
const Stencil kSecondDown = {{-1}, {2}, {-1}};

double quadratic_gain(Metric metric, const Stencil& before) {
  switch (metric) {
    case Metric::gradient:
      return sum_of_squares(convolved(kAcross, before)) + sum_of_squares(convolved(kDown, before));
    case Metric::laplacian:
      return sum_of_squares(convolved(kLaplacian, before));
    case Metric::modified_laplacian: {
      // Mean of |a| + |b| of Gaussians, squared: (2/pi) (sd_a + sd_b)^2.
      const double a = std::sqrt(sum_of_squares(convolved(kSecondAcross, before)));
      const double b = std::sqrt(sum_of_squares(convolved(kSecondDown, before)));
      return 2.0 / 3.14159265358979 * (a + b) * (a + b);
    }
    case Metric::finest:
      return sum_of_squares(convolved(spread(kLaplacian, 2), convolved(block(2), before)));
    case Metric::fine:
      return sum_of_squares(convolved(spread(kLaplacian, 2), convolved(block(4), before)));
    case Metric::coarse:
      return sum_of_squares(
          convolved(spread(convolved(kLaplacian, kSmooth), 4), convolved(block(4), before)));
  }
  return 0;
}

// --- cells ---

// Sums of columns of sixteenths into cells: `samples_a_cell` columns of `sums` belong to a cell.
template <class Sum>
void add_to_cells(const Sum* sums, int samples_a_cell, CellGrid& cells, int row) {
  for (int c = 0; c < cells.columns(); ++c) {
    double sum = 0;
    for (int i = 0; i < samples_a_cell; ++i)
      sum += static_cast<double>(sums[c * samples_a_cell + i]);
    cells.row(row)[c] = static_cast<float>(sum);
  }
}

void scale_cells(CellGrid& cells, double factor) {
  for (float& value : cells.values())
    value = static_cast<float>(static_cast<double>(value) * factor);
}

// Runs a 3-row kernel over the rows of each cell, leaving out the border rows of the frame.
// row_of(y) gives row y of a plane of `height` rows with `rows_a_cell` rows in each cell.
template <class Sum, class RowOf, class Kernel>
void accumulate(int width, int height, int rows_a_cell, CellGrid& cells, std::vector<Sum>& sums,
                const RowOf& row_of, Kernel* kernel) {
  // The last column of the last cell may lie beyond what the kernel reaches: it stays zero.
  sums.resize(static_cast<std::size_t>(std::max(width, cells.columns() * rows_a_cell)));
  for (int r = 0; r < cells.rows(); ++r) {
    std::fill(sums.begin(), sums.end(), Sum{0});
    const int first = std::max(r * rows_a_cell, 1);
    const int last = std::min((r + 1) * rows_a_cell, height - 1);
    for (int y = first; y < last; ++y) {
      kernel(row_of(y - 1), row_of(y), row_of(y + 1), width, sums.data());
    }
    add_to_cells(sums.data(), rows_a_cell, cells, r);
  }
}

template <class T, class Sum>
void full_resolution(SampleView samples, Metric metric, CellGrid& cells, std::vector<Sum>& sums) {
  const auto row_of = [&](int y) { return samples.row<T>(y); };
  const auto run = [&](auto* kernel) {
    accumulate(samples.width_px, samples.height_px, kCellPx, cells, sums, row_of, kernel);
  };
  if constexpr (sizeof(T) == 1) {
    if (metric == Metric::gradient) run(kernels::gradient_u8());
    if (metric == Metric::laplacian) run(kernels::laplacian_u8());
    if (metric == Metric::modified_laplacian) run(kernels::modified_laplacian_u8());
  } else {
    if (metric == Metric::gradient) run(kernels::gradient_u16());
    if (metric == Metric::laplacian) run(kernels::laplacian_u16());
    if (metric == Metric::modified_laplacian) run(kernels::modified_laplacian_u16());
  }
  scale_cells(cells, 1.0 / (kCellPx * kCellPx));
  if (metric == Metric::modified_laplacian) {
    for (float& value : cells.values()) value *= value;
  }
}

void finest(MeasureWorkspace& work, CellGrid& cells) {
  const HalfPlane& half = work.half;
  if (half.exact()) {
    accumulate(
        half.width_px, half.height_px, kCellPx / 2, cells, work.sums_integer,
        [&](int y) { return half.integer_row(y); }, kernels::box_laplacian_u16());
  } else {
    accumulate(
        half.width_px, half.height_px, kCellPx / 2, cells, work.sums_float,
        [&](int y) { return half.floats.row(y); }, kernels::box_laplacian_f32());
  }
  // 4 pixels a sample, 8 x 8 samples a cell.
  scale_cells(cells, 1.0 / (4.0 * 4.0 * 64.0));
}

void fine(MeasureWorkspace& work, CellGrid& cells) {
  const HalfPlane& half = work.half;
  const int width = half.width_px - 1;
  const int height = half.height_px - 1;
  if (half.exact()) {
    work.box_integers.resize(static_cast<std::size_t>(half.width_px) *
                             static_cast<std::size_t>(height));
    const auto row_of = [&](int y) {
      return work.box_integers.data() + static_cast<std::ptrdiff_t>(y) * half.width_px;
    };
    for (int y = 0; y < height; ++y) {
      kernels::box_u16()(half.integer_row(y), half.integer_row(y + 1), half.width_px, row_of(y));
    }
    accumulate(width, height, kCellPx / 2, cells, work.sums_integer, row_of,
               kernels::box_laplacian_u16());
  } else {
    if (work.box_floats.size() != half.floats.size()) work.box_floats = Plane(half.floats.size());
    for (int y = 0; y < height; ++y) {
      kernels::box_f32()(half.floats.row(y), half.floats.row(y + 1), half.width_px,
                         work.box_floats.row(y));
    }
    const auto row_of = [&](int y) { return std::as_const(work.box_floats).row(y); };
    accumulate(width, height, kCellPx / 2, cells, work.sums_float, row_of,
               kernels::box_laplacian_f32());
  }
  // 16 pixels a box, 8 x 8 boxes a cell.
  scale_cells(cells, 1.0 / (16.0 * 16.0 * 64.0));
}

void coarse(MeasureWorkspace& work, CellGrid& cells) {
  const Plane& quarter = work.quarter;
  const int width = quarter.width();
  const int height = quarter.height();
  if (work.smooth.size() != quarter.size()) work.smooth = Plane(quarter.size());
  work.scratch.resize(static_cast<std::size_t>(width));
  for (int y = 1; y < height - 1; ++y) {
    kernels::smooth_f32()(quarter.row(y - 1), quarter.row(y), quarter.row(y + 1), width,
                          work.smooth.row(y), work.scratch.data());
  }
  // The outermost samples have no smoothed value: the stencil starts one further inside.
  const auto row_of = [&](int y) { return std::as_const(work.smooth).row(y); };
  work.sums_float.resize(static_cast<std::size_t>(width));
  constexpr int kSide = kCellPx / 4;
  for (int r = 0; r < cells.rows(); ++r) {
    std::fill(work.sums_float.begin(), work.sums_float.end(), 0.0F);
    for (int y = std::max(r * kSide, 2); y < std::min((r + 1) * kSide, height - 2); ++y) {
      kernels::box_laplacian_f32()(row_of(y - 1) + 1, row_of(y) + 1, row_of(y + 1) + 1, width - 2,
                                   work.sums_float.data() + 1);
    }
    add_to_cells(work.sums_float.data(), kSide, cells, r);
  }
  scale_cells(cells, 1.0 / (16.0 * 16.0 * kSide * kSide));
}

void cell_means(const Plane& quarter, double full_scale, CellMeasure& out) {
  constexpr int kSide = kCellPx / 4;
  const auto limit = static_cast<float>(16.0 * full_scale);
  for (int r = 0; r < out.mean.rows(); ++r) {
    for (int c = 0; c < out.mean.columns(); ++c) {
      float sum = 0;
      float highest = 0;
      for (int y = r * kSide; y < (r + 1) * kSide; ++y) {
        for (int x = c * kSide; x < (c + 1) * kSide; ++x) {
          sum += quarter.row(y)[x];
          highest = std::max(highest, quarter.row(y)[x]);
        }
      }
      out.mean.row(r)[c] = sum / (16.0F * kSide * kSide);
      out.saturated.push_back(highest >= limit);
    }
  }
}

}  // namespace

std::string_view metric_name(Metric metric) {
  switch (metric) {
    case Metric::gradient:
      return "gradient";
    case Metric::laplacian:
      return "laplacian";
    case Metric::modified_laplacian:
      return "modified-laplacian";
    case Metric::finest:
      return "finest";
    case Metric::fine:
      return "fine";
    case Metric::coarse:
      return "coarse";
  }
  return "";
}

double noise_gain(Metric metric, capture::Colour colour) {
  return quadratic_gain(metric, colour == capture::Colour::cfa ? kSmooth : Stencil{{1}});
}

CellMeasure measure(const Luminance& luminance, Metric metric, MeasureWorkspace& workspace) {
  const SampleView& samples = luminance.view;
  LULL_ASSERT(samples.width_px >= kCellPx && samples.height_px >= kCellPx);
  CellMeasure out{{}, CellGrid(samples.size()), {}};
  out.saturated.reserve(out.mean.count());
  halve(samples, workspace.half);
  quarter(workspace.half, workspace.quarter);
  cell_means(workspace.quarter, luminance.full_scale, out);
  out.energy = energy_of_measured(luminance, metric, workspace);
  return out;
}

CellGrid energy_of_measured(const Luminance& luminance, Metric metric,
                            MeasureWorkspace& workspace) {
  const SampleView& samples = luminance.view;
  CellGrid energy(samples.size());
  if (metric == Metric::finest) {
    finest(workspace, energy);
  } else if (metric == Metric::fine) {
    fine(workspace, energy);
  } else if (metric == Metric::coarse) {
    coarse(workspace, energy);
  } else if (samples.type == SampleType::u8) {
    full_resolution<std::uint8_t>(samples, metric, energy, workspace.sums_integer);
  } else {
    full_resolution<std::uint16_t>(samples, metric, energy, workspace.sums_float);
  }
  return energy;
}

}  // namespace lull::quality
