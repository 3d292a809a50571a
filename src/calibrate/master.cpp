#include "calibrate/master.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <span>

#include "calibrate/joined_capture.h"
#include "calibrate/master_check.h"
#include "calibrate/row_kernels.h"
#include "core/error.h"
#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::calibrate {

namespace {

constexpr std::int64_t kFewFrames = 5;
constexpr double kClipSigmas = 4.0;
/// Pixels from which the typical noise of a plane is judged.
constexpr std::size_t kNoiseSamples = 65536;

[[nodiscard]] std::size_t area(Size size) { return static_cast<std::size_t>(size.area_px()); }

/// What one pass over the frames adds up, for one plane; arrays hold rows without padding.
struct Sums {
  explicit Sums(Size size)
      : sum(area(size)), squares(area(size)), lowest(area(size), 65535), highest(area(size)) {}

  void add(SampleView in) {
    parallel_for(in.height_px, [&](std::int64_t y) {
      const std::size_t at = static_cast<std::size_t>(y) * static_cast<std::size_t>(in.width_px);
      const auto row = static_cast<int>(y);
      if (in.type == SampleType::u8) {
        kernels::gather_u8()(in.row<std::uint8_t>(row), in.width_px, &sum[at], &squares[at],
                             &lowest[at], &highest[at]);
      } else {
        kernels::gather_u16()(in.row<std::uint16_t>(row), in.width_px, &sum[at], &squares[at],
                              &lowest[at], &highest[at]);
      }
    });
  }

  std::vector<std::uint32_t> sum;
  std::vector<std::uint64_t> squares;
  std::vector<std::uint16_t> lowest;
  std::vector<std::uint16_t> highest;
};

/// Samples that count, and their sum, for one plane.
struct Clipped {
  void add(SampleView in) {
    parallel_for(in.height_px, [&](std::int64_t y) {
      const std::size_t at = static_cast<std::size_t>(y) * static_cast<std::size_t>(in.width_px);
      const auto row = static_cast<int>(y);
      if (in.type == SampleType::u8) {
        kernels::gather_within_u8()(in.row<std::uint8_t>(row), in.width_px, &low[at], &high[at],
                                    &sum[at], &count[at]);
      } else {
        kernels::gather_within_u16()(in.row<std::uint16_t>(row), in.width_px, &low[at], &high[at],
                                     &sum[at], &count[at]);
      }
    });
  }

  std::vector<std::uint16_t> low;
  std::vector<std::uint16_t> high;
  std::vector<std::uint32_t> sum;
  std::vector<std::uint32_t> count;
};

[[nodiscard]] double variance(double sum, double squares, double count) {
  return std::max(0.0, (squares - sum * sum / count) / (count - 1));
}

/// Median over the pixels of the untrimmed sigma: hits are rare, so they do not move it.
[[nodiscard]] double typical_sigma(const Sums& sums, double frames) {
  const std::size_t stride = std::max<std::size_t>(1, sums.sum.size() / kNoiseSamples);
  std::vector<double> variances;
  for (std::size_t i = 0; i < sums.sum.size(); i += stride) {
    variances.push_back(variance(sums.sum[i], static_cast<double>(sums.squares[i]), frames));
  }
  return std::sqrt(upper_median(variances));
}

/// The samples that count at each pixel. Gives up the sums of the first pass on the way, so that
/// not both are held.
[[nodiscard]] Clipped bounds_of(Sums sums, std::int64_t frames, unsigned used_bits) {
  const auto count = static_cast<double>(frames);
  const double step = used_bits == 0 ? 1.0 : static_cast<double>(1U << std::countr_zero(used_bits));
  const double floor = std::max(typical_sigma(sums, count), 0.5 * step);
  Clipped clipped;
  clipped.low = std::move(sums.lowest);
  clipped.high = std::move(sums.highest);
  for (std::size_t i = 0; i < sums.sum.size(); ++i) {
    const double least = clipped.low[i];
    const double most = clipped.high[i];
    const double sum = sums.sum[i] - least - most;
    const double squares = static_cast<double>(sums.squares[i]) - least * least - most * most;
    const double mean = sum / (count - 2);
    const double reach =
        kClipSigmas * std::max(floor, std::sqrt(variance(sum, squares, count - 2)));
    clipped.low[i] = static_cast<std::uint16_t>(std::max(0.0, std::ceil(mean - reach)));
    clipped.high[i] = static_cast<std::uint16_t>(std::min(65535.0, std::floor(mean + reach)));
  }
  clipped.count.assign(sums.sum.size(), 0);
  clipped.sum = std::move(sums.sum);
  std::fill(clipped.sum.begin(), clipped.sum.end(), 0U);
  return clipped;
}

/// Calls add(frame) for each decodable frame; returns how many.
template <class Add>
std::int64_t for_each_frame(capture::Capture& source, std::int64_t expected, const char* stage,
                            const Progress& progress, const Add& add) {
  source.rewind();
  std::int64_t frames = 0;
  while (frames < kMostMasterFrames) {
    progress.step(stage, frames, expected);
    const auto outcome = source.next();
    if (outcome.ok()) {
      add(outcome.value());
      ++frames;
    } else if (outcome.reason() == Reject::past_the_end) {
      break;
    }
  }
  return frames;
}

template <class ValueAt>
[[nodiscard]] Plane plane_of(Size size, const ValueAt& value_at) {
  Plane plane(size);
  std::size_t i = 0;
  for (int y = 0; y < size.height_px; ++y) {
    float* row = plane.row(y);
    for (int x = 0; x < size.width_px; ++x) row[x] = static_cast<float>(value_at(i++));
  }
  return plane;
}

/// Bits of the smallest and the largest sample of every pixel: enough to find depth and alignment,
/// at no cost.
[[nodiscard]] unsigned bits_of(const Sums& sums) {
  unsigned bits = 0;
  for (const auto value : sums.lowest) bits |= value;
  for (const auto value : sums.highest) bits |= value;
  return bits;
}

[[nodiscard]] std::vector<Plane> plain_means(const std::vector<Sums>& sums, const Master& master) {
  std::vector<Plane> planes;
  planes.reserve(sums.size());
  for (const Sums& plane : sums) {
    planes.push_back(plane_of(master.source.size, [&](std::size_t i) {
      return static_cast<double>(plane.sum[i]) / static_cast<double>(master.frames);
    }));
  }
  return planes;
}

[[nodiscard]] std::vector<Plane> clipped_means(capture::Capture& source, std::vector<Sums> sums,
                                               const Master& master, const Progress& progress) {
  std::vector<Clipped> clipped;
  clipped.reserve(sums.size());
  for (Sums& plane : sums) {
    clipped.push_back(bounds_of(std::move(plane), master.frames, master.used_bits));
  }
  const std::int64_t again = for_each_frame(source, master.frames, "averaging calibration frames",
                                            progress, [&](const capture::Frame& frame) {
                                              for (std::size_t p = 0; p < clipped.size(); ++p)
                                                clipped[p].add(frame.planes[p]);
                                            });
  std::vector<Plane> planes;
  planes.reserve(clipped.size());
  for (const Clipped& plane : clipped) {
    // At least one sample is within one sigma of the mean; none means that the file has changed.
    if (again != master.frames || std::ranges::find(plane.count, 0U) != plane.count.end()) {
      throw InputError(
          fmt::format("{}: changed while it was read ({} frames, then {}). Wait until "
                      "its recording or copying is complete, then try again.",
                      master.source.path, master.frames, again));
    }
    planes.push_back(plane_of(master.source.size, [&](std::size_t i) {
      return static_cast<double>(plane.sum[i]) / plane.count[i];
    }));
  }
  return planes;
}

}  // namespace

Master average(capture::Capture& source, const Progress& progress) {
  Master master;
  master.source = source.info();
  const std::size_t planes = master.source.colour == capture::Colour::rgb ? 3 : 1;
  std::vector<Sums> sums(planes, Sums(master.source.size));
  master.frames =
      for_each_frame(source, master.source.storage.header_frames, "measuring calibration frames",
                     progress, [&](const capture::Frame& frame) {
                       for (std::size_t p = 0; p < planes; ++p) sums[p].add(frame.planes[p]);
                     });
  master.damaged = source.tally().damaged;
  if (master.frames == 0) {
    throw InputError(fmt::format("{}: none of its frames can be decoded; record or copy it again.",
                                 master.source.path));
  }
  for (const Sums& plane : sums) master.used_bits |= bits_of(plane);
  master.planes = master.frames < kFewFrames
                      ? plain_means(sums, master)
                      : clipped_means(source, std::move(sums), master, progress);
  return master;
}

std::vector<std::string> subtract_dark(Master& flat, const Master& flat_dark) {
  auto notes = check_fits(flat.source, MasterKind::flat_dark, flat_dark);
  for (std::size_t p = 0; p < flat.planes.size(); ++p) {
    const PlaneView dark = flat_dark.planes[p].view();
    for (int y = 0; y < dark.height_px; ++y) {
      float* row = flat.planes[p].row(y);
      for (int x = 0; x < dark.width_px; ++x) row[x] -= dark.row(y)[x];
    }
  }
  flat.source.scale.black = 0;
  flat.dark_subtracted = true;
  return notes;
}

Master read_master(const std::string& path, const Progress& progress,
                   const capture::OpenOptions& options) {
  return average(*open_joined(calibration_files(path), options), progress);
}

}  // namespace lull::calibrate
