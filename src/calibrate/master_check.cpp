#include "calibrate/master_check.h"

#include <fmt/format.h>

#include <cmath>

#include "core/error.h"

namespace lull::calibrate {

namespace {

using capture::CaptureInfo;
using capture::Colour;

void check_size(const CaptureInfo& lights, MasterKind kind, const CaptureInfo& master) {
  if (lights.size == master.size) return;
  throw InputError(fmt::format(
      "{}: the {} has {} x {} pixels, the capture {} has {} x {}. Record it with the same camera "
      "settings and the same part of the sensor.",
      master.path, kind_name(kind), master.size.width_px, master.size.height_px, lights.path,
      lights.size.width_px, lights.size.height_px));
}

// Of YUV only the luma is calibrated, whether the frames show colour or not.
[[nodiscard]] Colour as_calibrated(const CaptureInfo& info) {
  return info.colour == Colour::yuv ? Colour::luma : info.colour;
}

[[nodiscard]] std::string layout_name(const CaptureInfo& info) {
  if (info.colour != Colour::cfa) return std::string(capture::colour_name(info.colour));
  return fmt::format("a {} mosaic", capture::cfa_name(info.cfa));
}

void check_colour(const CaptureInfo& lights, MasterKind kind, const CaptureInfo& master,
                  std::vector<std::string>& notes) {
  if (as_calibrated(lights) == as_calibrated(master) && lights.cfa == master.cfa) return;
  if (lights.colour == Colour::cfa && master.colour == Colour::mono) {
    notes.push_back(
        fmt::format("the {} does not state that it is a mosaic; it is read as {}, like the capture",
                    kind_name(kind), layout_name(lights)));
    return;
  }
  const char* advice =
      lights.colour == Colour::mono && master.colour == Colour::cfa
          ? "If the capture is one too, give --cfa; otherwise record the {0} in the mode of the "
            "capture."
          : "Record the {0} in the same colour mode as the capture, not processed.";
  throw InputError(fmt::format("{}: the {} is {}, the capture {} is {}. {}", master.path,
                               kind_name(kind), layout_name(master), lights.path,
                               layout_name(lights),
                               fmt::format(fmt::runtime(advice), kind_name(kind))));
}

[[noreturn]] void refuse_depth(const CaptureInfo& lights, MasterKind kind,
                               const CaptureInfo& master, const std::string& difference) {
  throw InputError(
      fmt::format("{}: {} (capture: {}). Record the {} in the same bit depth mode as "
                  "the capture, and give it as recorded.",
                  master.path, difference, lights.path, kind_name(kind)));
}

[[nodiscard]] const char* end_name(const CaptureInfo& info) {
  return info.bits.high_aligned ? "high" : "low";
}

/// Whether a stored value means the same in both, as far as the samples show.
[[nodiscard]] bool same_alignment(const CaptureInfo& lights, const Master& master) {
  if (lights.bits.high_aligned == master.source.bits.high_aligned) return true;
  if (master.source.bits.high_aligned) return lights.bits.used == 16;
  const unsigned below = (1U << (16 - lights.bits.used)) - 1;
  // A dark may use too few bits to show its alignment; a mean stored in 16 bits uses them all.
  return (master.used_bits & below) == 0 || master.source.bits.used == 16;
}

void check_depth(const CaptureInfo& lights, MasterKind kind, const Master& master,
                 std::vector<std::string>& notes) {
  const CaptureInfo& source = master.source;
  if (lights.bits.stored != source.bits.stored) {
    refuse_depth(lights, kind, source,
                 fmt::format("the {} stores {} bits a sample, the capture {}", kind_name(kind),
                             source.bits.stored, lights.bits.stored));
  }
  if (!same_alignment(lights, master)) {
    refuse_depth(lights, kind, source,
                 fmt::format("the {}'s {} bits are at the {} end of a 16-bit word, the capture's "
                             "{} bits at the {} end",
                             kind_name(kind), source.bits.used, end_name(source), lights.bits.used,
                             end_name(lights)));
  }
  if (lights.bits.high_aligned || master.used_bits <= static_cast<unsigned>(lights.full_scale))
    return;
  if (kind == MasterKind::dark) {
    refuse_depth(lights, kind, source,
                 fmt::format("the dark has {} bits a sample, the capture {}", source.bits.used,
                             lights.bits.used));
  }
  notes.push_back(fmt::format(
      "the {} uses {} bits a sample, and the capture {} by its samples; the same unit is assumed",
      kind_name(kind), source.bits.used, lights.bits.used));
}

// Dark current grows with the exposure, and so do hot pixels. The flat has its own exposure.
constexpr double kOtherExposure = 0.02;  // relative; common practice, no source

void check_exposure(const CaptureInfo& lights, MasterKind kind, const CaptureInfo& master,
                    std::vector<std::string>& notes) {
  if (kind != MasterKind::dark || lights.times.exposure_s <= 0 || master.times.exposure_s <= 0)
    return;
  if (std::abs(master.times.exposure_s - lights.times.exposure_s) <=
      kOtherExposure * lights.times.exposure_s)
    return;
  notes.push_back(
      fmt::format("the dark was exposed for {:.4g} s, the capture for {:.4g} s: dark current and "
                  "hot pixels differ. Record the dark at the capture's exposure",
                  master.times.exposure_s, lights.times.exposure_s));
}

}  // namespace

std::vector<std::string> check_fits(const CaptureInfo& lights, MasterKind kind,
                                    const Master& master) {
  std::vector<std::string> notes;
  check_size(lights, kind, master.source);
  check_colour(lights, kind, master.source, notes);
  check_depth(lights, kind, master, notes);
  check_exposure(lights, kind, master.source, notes);
  if (master.frames == 1) {
    notes.push_back(
        fmt::format("the {} is a single frame; its noise is the same in every calibrated frame and "
                    "does not average out. Record 20 or more",
                    kind_name(kind)));
  }
  if (master.damaged > 0) {
    notes.push_back(
        fmt::format("{} damaged frames of the {} are left out", master.damaged, kind_name(kind)));
  }
  return notes;
}

}  // namespace lull::calibrate
