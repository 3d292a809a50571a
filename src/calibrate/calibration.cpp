#include "calibrate/calibration.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <utility>

#include "calibrate/defects.h"
#include "calibrate/master_check.h"
#include "calibrate/row_kernels.h"
#include "core/error.h"

namespace lull::calibrate {

namespace {

using capture::CaptureInfo;
using capture::Colour;

// All bounds: common practice, no source.
constexpr double kUnlitPart = 0.05;        // of the mean: a darker pixel of the flat is unusable
constexpr double kSmallestHotPart = 0.02;  // of full scale, above the dark's median
constexpr double kDimPart = 0.1;           // of full scale: a flat under this is noisy
constexpr double kSaturatedPart = 0.98;    // of full scale: samples from here are clipped ones
constexpr double kManySaturated = 0.01;    // of the flat's samples
constexpr double kBrightDarkPart = 0.25;   // of full scale: the telescope was hardly covered
constexpr double kManyDefects = 0.01;      // of the pixels

/// Colour of a pixel within its plane, 0 to 2; always 0 but on a mosaic.
[[nodiscard]] std::size_t colour_at(const CaptureInfo& info, int x, int y) {
  if (info.colour != Colour::cfa) return 0;
  return static_cast<std::size_t>(capture::cfa_colour_at(info.cfa, x, y));
}

/// A sum for each colour of a plane.
struct ColourMeans {
  std::array<double, 3> sum{};
  std::array<double, 3> count{};

  [[nodiscard]] double mean(std::size_t colour) const {
    return count[colour] > 0 ? sum[colour] / count[colour] : 0.0;
  }
};

[[nodiscard]] ColourMeans means_of(const CaptureInfo& lights, PlaneView plane) {
  ColourMeans means;
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px; ++x) {
      const std::size_t colour = colour_at(lights, x, y);
      means.sum[colour] += static_cast<double>(plane.row(y)[x]);
      means.count[colour] += 1;
    }
  }
  return means;
}

void subtract(MutablePlaneView target, PlaneView other) {
  for (int y = 0; y < target.height_px; ++y) {
    for (int x = 0; x < target.width_px; ++x) target.row(y)[x] -= other.row(y)[x];
  }
}

void subtract(MutablePlaneView target, float level) {
  for (int y = 0; y < target.height_px; ++y) {
    for (int x = 0; x < target.width_px; ++x) target.row(y)[x] -= level;
  }
}

[[nodiscard]] double part_from(PlaneView plane, double level) {
  std::int64_t count = 0;
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px; ++x) {
      if (static_cast<double>(plane.row(y)[x]) >= level) ++count;
    }
  }
  return static_cast<double>(count) / static_cast<double>(plane.size().area_px());
}

/// Stored values from black to full scale.
[[nodiscard]] double range_of(const CaptureInfo& info) {
  return info.full_scale - info.scale.black;
}

/// Depth is judged from samples, so of two captures of a camera the deeper one is right.
[[nodiscard]] double flat_full_scale(const CaptureInfo& lights, const CaptureInfo& flat) {
  return std::max(lights.full_scale, flat.full_scale);
}

/// Pixels that are repaired.
struct DefectCount {
  std::int64_t hot = 0;           ///< in the dark
  std::int64_t cold = 0;          ///< in the flat: under half of their surroundings, or hardly lit
  std::int64_t unrepairable = 0;  ///< no good pixel near: written as black
};

[[nodiscard]] std::string plane_name(const CaptureInfo& lights, std::size_t plane,
                                     std::size_t colour) {
  constexpr std::array<const char*, 3> kNames = {"red", "green", "blue"};
  if (lights.colour == Colour::rgb) return fmt::format(" ({})", kNames[plane]);
  if (lights.colour == Colour::cfa) return fmt::format(" ({})", kNames[colour]);
  return {};
}

}  // namespace

struct Calibration::Tables {
  struct PlaneTable {
    Plane dark;  ///< stored units
    Plane gain;  ///< calibrated units a stored unit
    std::vector<Repair> repairs;
  };

  Tables(const CaptureInfo& lights, Masters masters);

  void check(const Masters& masters);
  void add_plane(Masters& masters, std::size_t p);
  void note_dark(const Master& dark, std::size_t p, const RobustLevel& level);
  void note_flat(const Master& flat, std::size_t p, const ColourMeans& means);
  void set_gain(PlaneView signal, const Master& flat, std::size_t p, PlaneTable& table,
                DefectMask& mask);
  void note_defects();

  CaptureInfo lights;
  int step = 1;  ///< from one pixel to the next of its colour
  int saturated_from = 0;
  std::vector<PlaneTable> planes;
  std::vector<std::string> notes;
  DefectCount defects;
};

Calibration::Tables::Tables(const CaptureInfo& lights_in, Masters masters) : lights(lights_in) {
  step = lights.colour == Colour::cfa ? 2 : 1;
  saturated_from = static_cast<int>(std::ceil(lights.full_scale));
  check(masters);
  const std::size_t count = lights.colour == Colour::rgb ? 3 : 1;
  for (std::size_t p = 0; p < count; ++p) add_plane(masters, p);
  note_defects();
}

void Calibration::Tables::check(const Masters& masters) {
  LULL_ASSERT(!masters.pattern || !masters.dark);
  if (masters.pattern) {
    notes.push_back(
        fmt::format("pattern noise, the same in all frames, is subtracted: {}; a dark removes more",
                    masters.pattern->text()));
  }
  if (masters.flat_dark && !masters.flat) {
    throw UsageError(fmt::format(
        "{}: a flat dark is given without a flat. Give the flat too, or leave out the flat dark.",
        masters.flat_dark->source.path));
  }
  if (masters.flat_dark && masters.flat->dark_subtracted) {
    throw UsageError(
        fmt::format("{}: a dark was already subtracted from this flat, and a flat dark ({}) is "
                    "given. Leave out the flat dark.",
                    masters.flat->source.path, masters.flat_dark->source.path));
  }
  const auto check_one = [&](MasterKind kind, const std::optional<Master>& master) {
    if (!master) return;
    auto found = check_fits(lights, kind, *master);
    notes.insert(notes.end(), found.begin(), found.end());
  };
  check_one(MasterKind::dark, masters.dark);
  check_one(MasterKind::flat, masters.flat);
  check_one(MasterKind::flat_dark, masters.flat_dark);
  if (!masters.flat || masters.flat_dark || masters.flat->dark_subtracted) return;
  notes.push_back(masters.dark ? "no flat dark is given: the dark is subtracted from the flat"
                               : "no flat dark and no dark is given: only the black level is "
                                 "subtracted from the flat");
}

void Calibration::Tables::add_plane(Masters& masters, std::size_t p) {
  PlaneTable table;
  DefectMask mask(lights.size);
  table.gain = Plane(lights.size);
  table.gain.fill(static_cast<float>(kUnitsOfLight * lights.scale.per_unit));
  if (masters.dark) {
    const PlaneView dark = std::as_const(masters.dark->planes[p]).view();
    note_dark(*masters.dark, p, robust_level(dark));
    defects.hot += mark_hot(dark, step, kSmallestHotPart * range_of(lights), mask);
  }
  if (masters.flat) {
    const Master& flat = *masters.flat;
    Plane signal = std::move(masters.flat->planes[p]);
    const double clipped_from = kSaturatedPart * flat_full_scale(lights, flat.source);
    if (part_from(std::as_const(signal).view(), clipped_from) > kManySaturated) {
      notes.push_back(fmt::format(
          "the flat{} is partly saturated, and invalid there. Record one at half the brightness",
          plane_name(lights, p, 1)));
    }
    if (flat.dark_subtracted) {
      // The signal already.
    } else if (masters.flat_dark) {
      subtract(signal.view(), std::as_const(masters.flat_dark->planes[p]).view());
    } else if (masters.dark) {
      subtract(signal.view(), std::as_const(masters.dark->planes[p]).view());
    } else {
      subtract(signal.view(), static_cast<float>(flat.source.scale.black));
    }
    set_gain(std::as_const(signal).view(), flat, p, table, mask);
  }
  if (masters.dark) {
    table.dark = std::move(masters.dark->planes[p]);
  } else {
    table.dark = Plane(lights.size);
    table.dark.fill(static_cast<float>(lights.scale.black));
    if (masters.pattern) masters.pattern->add_to(table.dark.view(), p);
  }
  table.repairs = plan_repairs(mask, step);
  for (const Repair& one : table.repairs) defects.unrepairable += one.sources == 0 ? 1 : 0;
  planes.push_back(std::move(table));
}

void Calibration::Tables::note_dark(const Master& dark, std::size_t p, const RobustLevel& level) {
  const double part = (level.median - dark.source.scale.black) / range_of(lights);
  if (part <= kBrightDarkPart) return;
  notes.push_back(
      fmt::format("the dark{} is bright ({:.0f} % of full scale). Was the telescope "
                  "covered?",
                  plane_name(lights, p, 1), 100 * part));
}

void Calibration::Tables::note_flat(const Master& flat, std::size_t p, const ColourMeans& means) {
  const double range = flat_full_scale(lights, flat.source) - lights.scale.black;
  for (std::size_t colour = 0; colour < means.sum.size(); ++colour) {
    if (means.count[colour] <= 0) continue;
    const double part = means.mean(colour) / range;
    const std::string name = plane_name(lights, p, colour);
    if (part <= 0) {
      throw InputError(
          fmt::format("{}: the flat{} is not brighter than its dark ({:.1f} stored "
                      "units on average). Check that the files are not exchanged, or "
                      "record the flat of a bright even surface.",
                      flat.source.path, name, means.mean(colour)));
    }
    if (part < kDimPart) {
      notes.push_back(
          fmt::format("the flat{} is dim ({:.1f} % of full scale), so its noise is added to the "
                      "frames. Record one at about half of full scale",
                      name, 100 * part));
    }
  }
}

void Calibration::Tables::set_gain(PlaneView signal, const Master& flat, std::size_t p,
                                   PlaneTable& table, DefectMask& mask) {
  const ColourMeans means = means_of(lights, signal);
  note_flat(flat, p, means);
  const double unit = kUnitsOfLight * lights.scale.per_unit;
  defects.cold += mark_cold(signal, step, mask);
  for (int y = 0; y < signal.height_px; ++y) {
    float* gain = table.gain.row(y);
    for (int x = 0; x < signal.width_px; ++x) {
      const double mean = means.mean(colour_at(lights, x, y));
      const double value = static_cast<double>(signal.row(y)[x]);
      if (value >= kUnlitPart * mean) {
        gain[x] = static_cast<float>(unit * mean / value);
      } else {
        gain[x] = 0;
        defects.cold += mask.at(x, y) ? 0 : 1;
        mask.mark(x, y);
      }
    }
  }
}

void Calibration::Tables::note_defects() {
  if (defects.hot > 0) {
    notes.push_back(fmt::format("{} hot pixels of the dark are repaired", defects.hot));
  }
  if (defects.cold > 0) {
    notes.push_back(fmt::format("{} cold pixels of the flat are repaired", defects.cold));
  }
  if (defects.unrepairable > 0) {
    notes.push_back(fmt::format("{} of these have no good pixel nearby and become black",
                                defects.unrepairable));
  }
  const double samples =
      static_cast<double>(lights.size.area_px()) * static_cast<double>(planes.size());
  if (static_cast<double>(defects.hot + defects.cold) > kManyDefects * samples) {
    notes.push_back(
        "that is more than 1 % of the sensor; check that dark and flat are the right files");
  }
}

Calibration::Calibration(const CaptureInfo& lights, Masters masters)
    : tables_(std::make_shared<const Tables>(lights, std::move(masters))) {}

const std::vector<std::string>& Calibration::notes() const { return tables_->notes; }

CaptureInfo Calibration::info(const CaptureInfo& lights) const {
  CaptureInfo info = lights;
  info.sample_type = SampleType::u16;
  info.bits.stored = 16;
  info.bits.high_aligned = false;
  info.scale = {kBlack, 1.0 / kUnitsOfLight};
  info.full_scale = kSaturated;
  if (info.colour == Colour::yuv) {
    info.colour = Colour::luma;
    info.notes.push_back("calibrated as luma: the colour of YUV captures is not used");
  }
  info.notes.insert(info.notes.end(), notes().begin(), notes().end());
  return info;
}

capture::Frame Calibration::apply(const capture::Frame& frame) const {
  constexpr std::ptrdiff_t kRowElems = 32;  // rows start 64 bytes apart or a multiple of that
  LULL_ASSERT(frame.size() == tables_->lights.size);
  LULL_ASSERT(static_cast<std::size_t>(frame.plane_count) == tables_->planes.size());
  const Size size = frame.size();
  const std::ptrdiff_t stride = (size.width_px + kRowElems - 1) / kRowElems * kRowElems;
  const auto plane_elems = static_cast<std::size_t>(stride * size.height_px);
  const auto storage =
      std::make_shared_for_overwrite<std::uint16_t[]>(plane_elems * tables_->planes.size());
  capture::Frame out = frame;
  out.chroma = {};  // see info()
  if (!out.dead_rows) out.dead_rows = capture::dead_rows(frame.planes[0]);
  for (std::size_t p = 0; p < tables_->planes.size(); ++p) {
    const Tables::PlaneTable& table = tables_->planes[p];
    const SampleView& in = frame.planes[p];
    std::uint16_t* samples = storage.get() + p * plane_elems;
    for (int y = 0; y < size.height_px; ++y) {
      std::uint16_t* to = samples + y * stride;
      if (in.type == SampleType::u8) {
        kernels::correct_u8()(in.row<std::uint8_t>(y), size.width_px, table.dark.row(y),
                              table.gain.row(y), tables_->saturated_from, to);
      } else {
        kernels::correct_u16()(in.row<std::uint16_t>(y), size.width_px, table.dark.row(y),
                               table.gain.row(y), tables_->saturated_from, to);
      }
    }
    repair(table.repairs, kBlack, samples, stride);
    out.planes[p] = {reinterpret_cast<const std::byte*>(samples), size.width_px, size.height_px,
                     stride * static_cast<std::ptrdiff_t>(sizeof(std::uint16_t)), SampleType::u16};
  }
  out.storage = storage;
  return out;
}

}  // namespace lull::calibrate
