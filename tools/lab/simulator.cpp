#include "lab/simulator.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <system_error>

#include "core/error.h"
#include "core/parallel.h"
#include "core/utc.h"
#include "files/atomic_file.h"
#include "files/results.h"
#include "lab/camera.h"
#include "lab/frame_maker.h"
#include "lab/random.h"
#include "lab/video_writer.h"

namespace lull::lab {

namespace {

namespace fs = std::filesystem;

// What happens at a frame of the video.
struct Plan {
  double time_s = 0;
  int skipped = 0;  ///< frames lost before it
  std::string fault;
  double cut = 1;  ///< share of the rows that arrived
  // A track goes through this place, as shares of the sides, in this direction.
  double track_x = 0;
  double track_y = 0;
  double track_rad = 0;
  bool changed = false;  ///< after the change
};

std::vector<Plan> plan_of(const Parameters& p) {
  std::vector<Plan> plans;
  std::int64_t tick = 0;
  for (int i = 0; i < p.frames; ++i) {
    Random random({p.recording_seed(), key_of(Draw::faults), static_cast<std::uint64_t>(i)});
    Plan plan;
    if (i > 0 && random.uniform() < p.faults.dropped)
      plan.skipped = 1 + static_cast<int>(2 * random.uniform());
    tick += plan.skipped;
    plan.time_s = static_cast<double>(tick) / p.camera.frames_per_s;
    plan.changed = i >= p.change.after * p.frames;
    const double cut = random.uniform(0.1, 0.95);
    const bool copy = i % p.faults.copies != 0;
    if (copy || (i > 0 && random.uniform() < p.faults.doubled)) {
      plan.fault = "doubled";
    } else if (random.uniform() < p.faults.black) {
      plan.fault = "black";
    } else if (random.uniform() < p.faults.cut_short) {
      plan.fault = "cut short";
      plan.cut = cut;
    } else if (random.uniform() < p.faults.crossed) {
      plan.fault = "crossed";
      plan.track_x = random.uniform(0.2, 0.8);
      plan.track_y = random.uniform(0.2, 0.8);
      plan.track_rad = random.uniform(0, std::numbers::pi);
    }
    plans.push_back(plan);
    ++tick;
  }
  return plans;
}

// A straight track 2 px wide, at full scale.
void draw_track(const Plan& plan, std::vector<Plane>& light) {
  constexpr double kHalfWidthPx = 1;
  constexpr float kBright = 2;
  const double across_x = -std::sin(plan.track_rad);
  const double across_y = std::cos(plan.track_rad);
  for (Plane& plane : light) {
    const double x0 = plan.track_x * plane.width();
    const double y0 = plan.track_y * plane.height();
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) {
        if (std::abs(across_x * (x - x0) + across_y * (y - y0)) < kHalfWidthPx)
          plane.row(y)[x] = kBright;
      }
    }
  }
}

// The light of one picture in even rows, and of another in odd ones.
void interlace(std::vector<Plane>& even, const std::vector<Plane>& odd) {
  for (std::size_t c = 0; c < even.size(); ++c) {
    for (int y = 1; y < even[c].height(); y += 2)
      std::copy_n(odd[c].row(y), even[c].width(), even[c].row(y));
  }
}

void turn(const std::string& how, std::vector<Plane>& light) {
  for (Plane& plane : light) {
    const int height = plane.height();
    for (int y = 0; y < height && how != "up-down"; ++y)
      std::reverse(plane.row(y), plane.row(y) + plane.width());
    for (int y = 0; y < height / 2 && how != "left-right"; ++y)
      std::swap_ranges(plane.row(y), plane.row(y) + plane.width(), plane.row(height - 1 - y));
  }
}

VideoFormat format_of(const Parameters& p) {
  VideoFormat format;
  const bool words = p.camera.stored_bits == 16;
  const bool mosaic = p.camera.colour != "mono" && p.camera.colour != "rgb";
  format.width_px = p.width_px;
  format.height_px = p.height_px;
  format.frames_per_s = p.camera.frames_per_s;
  format.bit_exact = true;
  if (p.scene.is_dated()) {
    const double half_s = 0.5 * p.frames / p.camera.frames_per_s;
    format.begun = iso8601(after(parse_iso8601(p.scene.utc).value(), -half_s)) + "Z";
  }
  format.container = p.container == "mkv" ? "matroska" : p.container;
  if (p.container == "mkv") {
    format.codec = "ffv1";
    format.codec_options = {{"level", "3"}, {"slicecrc", "1"}, {"slices", "4"}};
    if (words) format.codec_options["coder"] = "range_tab";  // the only one above 8 bits
  }
  if (p.camera.colour == "rgb") {
    format.pixel_format =
        p.container == "mkv" ? (words ? "gbrp16le" : "bgr0") : (words ? "rgb48le" : "bgr24");
  } else if (mosaic && p.container == "nut") {
    format.pixel_format = "bayer_" + p.camera.colour + (words ? "16le" : "8");
  } else {
    format.pixel_format = words ? "gray16le" : "gray";
  }
  return format;
}

// Bytes of a frame in the order of its pixel format.
std::vector<std::byte> packed(const Samples& samples, const VideoFormat& format, int bits) {
  std::vector<std::uint16_t> ordered;
  const auto put = [&](std::size_t pixel, std::initializer_list<std::size_t> channels) {
    for (const std::size_t c : channels) ordered.push_back(samples[3 * pixel + c]);
  };
  const std::size_t pixels = samples.size() / 3;
  if (format.pixel_format == "bgr24") {
    for (std::size_t i = 0; i < pixels; ++i) put(i, {2, 1, 0});
  } else if (format.pixel_format == "bgr0") {
    for (std::size_t i = 0; i < pixels; ++i) {
      put(i, {2, 1, 0});
      ordered.push_back(0);
    }
  } else if (format.pixel_format == "gbrp16le") {
    for (const std::size_t c : {1U, 2U, 0U}) {
      for (std::size_t i = 0; i < pixels; ++i) ordered.push_back(samples[3 * i + c]);
    }
  } else {
    ordered = samples;
  }
  if (bits == 16) return bytes_of(std::span<const std::uint16_t>(ordered));
  const std::vector<std::uint8_t> narrow(ordered.begin(), ordered.end());
  return bytes_of(std::span<const std::uint8_t>(narrow));
}

double middle(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2),
                   values.end());
  return values[values.size() / 2];
}

// Where the truth is lit, with some sky around it.
Box lit_box(const std::vector<Plane>& picture) {
  constexpr float kLit = 0.02F;
  constexpr int kSkyPx = 12;
  const int width = picture[0].width();
  const int height = picture[0].height();
  Box box{width, height, 0, 0};
  for (const Plane& plane : picture) {
    for (int y = 0; y < height; ++y) {
      for (int x = 0; x < width; ++x) {
        if (plane.row(y)[x] < kLit) continue;
        box = {std::min(box.x0, x - kSkyPx), std::min(box.y0, y - kSkyPx),
               std::max(box.x1, x + 1 + kSkyPx), std::max(box.y1, y + 1 + kSkyPx)};
      }
    }
  }
  return box.intersection({0, 0, width, height});
}

std::string file_of(const Parameters& p) { return p.name + "." + p.container; }

class Simulation {
 public:
  Simulation(const Parameters& p, const GivenScene* given, const Progress& progress)
      : parameters_(p), progress_(progress), maker_(p, given), camera_(p), plans_(plan_of(p)) {
    if (p.change.defocus_rad != 0 || p.change.wavelength_m > 0)
      changed_.emplace(p.changed(), given);
  }

  void write_video(const fs::path& path) {
    VideoFormat format = format_of(parameters_);
    VideoWriter writer(path.string(), format);
    const std::size_t block = 2 * static_cast<std::size_t>(std::max(thread_count(), 1));
    std::vector<Workspaces> work(block);
    std::vector<Made> made(block);
    for (std::size_t first = 0; first < plans_.size(); first += block) {
      progress_.step("simulating", static_cast<std::int64_t>(first),
                     static_cast<std::int64_t>(plans_.size()));
      const std::size_t count = std::min(block, plans_.size() - first);
      parallel_for(static_cast<std::int64_t>(count), [&](std::int64_t i) {
        const auto k = static_cast<std::size_t>(i);
        made[k] = make(first + k, work[k]);
      });
      for (std::size_t k = 0; k < count; ++k) take(first + k, made[k], format, writer);
    }
    writer.finish();
    progress_.step("simulating", static_cast<std::int64_t>(plans_.size()),
                   static_cast<std::int64_t>(plans_.size()));
  }

  void write_calibration(const fs::path& path, bool dark) const {
    const VideoFormat format = format_of(parameters_);
    VideoWriter writer(path.string(), format);
    for (int i = 0; i < parameters_.calibration_frames; ++i) {
      const auto number = static_cast<std::uint64_t>(i);
      writer.add(packed(dark ? camera_.dark(number) : camera_.flat(number), format,
                        parameters_.camera.stored_bits));
    }
    writer.finish();
  }

  void write_truth_file(const fs::path& path) {
    maker_.fill(truth_);
    truth_.judged = judged_box();
    write_truth(path, truth_);
  }

  [[nodiscard]] bool is_coarse() const { return maker_.fineness() > 1; }

  void write_fine_truth_file(const fs::path& path) const { write_fine_truth(path, truth_); }

  [[nodiscard]] std::string table() const { return frame_table(frames_); }

  [[nodiscard]] nlohmann::json description(const std::string& file) const {
    nlohmann::json dispersion = nlohmann::json::array();
    for (const Displacement& shift : maker_.dispersion())
      dispersion.push_back({shift.x_px, shift.y_px});
    const Box& box = truth_.judged;
    return {{"file", file},
            {"parameters", to_json(parameters_)},
            {"cutoff_cycles_per_px", parameters_.cutoff_cycles_per_px()},
            {"gain_e_per_adu", camera_.gain_e_per_adu()},
            {"dispersion_px_per_channel", dispersion},
            {"judged_box_y0_y1_x0_x1", {box.y0, box.y1, box.x0, box.x1}}};
  }

 private:
  // Of each maker, since these differ in the sizes of their pictures.
  struct Workspaces {
    FrameMaker::Workspace before;
    FrameMaker::Workspace after;
  };

  // With the optics of that moment, in the light of the first maker.
  [[nodiscard]] FrameMaker::Frame frame_at(double time_s, bool changed, Workspaces& work) const {
    if (!changed || !changed_) return maker_.frame(time_s, work.before);
    FrameMaker::Frame frame = changed_->frame(time_s, work.after);
    for (Plane& plane : frame.light)
      scale(plane.view(), static_cast<float>(changed_->brightest() / maker_.brightest()));
    return frame;
  }

  struct Made {
    FrameTruth truth;
    NodeField field;
    Samples samples;
  };

  [[nodiscard]] Made make(std::size_t index, Workspaces& work) const {
    const Plan& plan = plans_[index];
    if (plan.fault == "doubled") return {};
    FrameMaker::Frame frame = frame_at(plan.time_s, plan.changed, work);
    if (parameters_.camera.interlaced) {
      const double later_s = plan.time_s + 0.5 / parameters_.camera.frames_per_s;
      interlace(frame.light, frame_at(later_s, plan.changed, work).light);
    }
    const bool turned = plan.changed && parameters_.change.turn != "none";
    if (turned) turn(parameters_.change.turn, frame.light);
    const double transparency =
        maker_.transparency(plan.time_s) * (plan.changed ? parameters_.change.light : 1);
    Made out;
    out.truth = {plan.time_s,          frame.shift,  frame.strehl_tilt_removed,
                 frame.strehl_on_axis, transparency, turned ? "turned" : plan.fault};
    out.field = std::move(frame.field);
    if (plan.fault == "crossed") draw_track(plan, frame.light);
    out.samples = camera_.expose(frame.light, plan.fault == "black" ? 0 : transparency, index);
    const auto arrived = static_cast<std::size_t>(plan.cut * parameters_.height_px) *
                         (out.samples.size() / static_cast<std::size_t>(parameters_.height_px));
    std::fill(out.samples.begin() + static_cast<std::ptrdiff_t>(arrived), out.samples.end(),
              std::uint16_t{0});
    return out;
  }

  void take(std::size_t index, Made& made, const VideoFormat& format, VideoWriter& writer) {
    const Plan& plan = plans_[index];
    if (plan.fault == "doubled") {
      FrameTruth again = frames_.back();
      again.time_s = plan.time_s;
      again.fault = plan.fault;
      frames_.push_back(again);
      truth_.fields.push_back(truth_.fields.back());
    } else {
      frames_.push_back(made.truth);
      truth_.fields.push_back(std::move(made.field));
      last_ = packed(made.samples, format, parameters_.camera.stored_bits);
    }
    writer.skip(plan.skipped);
    writer.add(last_);
  }

  // What nearly all frames show of the lit part, by their wandering.
  [[nodiscard]] Box judged_box() const {
    constexpr int kInsetPx = 12;
    std::vector<double> x;
    std::vector<double> y;
    for (const FrameTruth& f : frames_) {
      x.push_back(f.shift.x_px);
      y.push_back(f.shift.y_px);
    }
    const auto inset = [](const std::vector<double>& values, int side) {
      const double centre = middle(values);
      std::vector<double> distance;
      distance.reserve(values.size());
      for (const double v : values) distance.push_back(std::abs(v - centre));
      return std::min(static_cast<int>(middle(distance) * 3) + kInsetPx, side / 3);
    };
    const int dx = inset(x, parameters_.width_px);
    const int dy = inset(y, parameters_.height_px);
    return lit_box(truth_.picture)
        .intersection({dx, dy, parameters_.width_px - dx, parameters_.height_px - dy});
  }

  const Parameters& parameters_;
  const Progress& progress_;
  FrameMaker maker_;
  std::optional<FrameMaker> changed_;
  Camera camera_;
  std::vector<Plan> plans_;
  std::vector<FrameTruth> frames_;
  Truth truth_;
  std::vector<std::byte> last_;
};

}  // namespace

void add_capture(const Parameters& parameters, const GivenScene* given, const fs::path& folder,
                 files::Results& results, const Progress& progress) {
  check(parameters);
  const std::string file = file_of(parameters);
  Simulation simulation(parameters, given, progress);
  const auto add = [&](const std::string& name, const files::Results::Write& write) {
    results.add((folder / name).string(), write);
  };
  add(file, [&](const auto& path) { simulation.write_video(path); });
  add(parameters.name + ".truth.fits",
      [&](const auto& path) { simulation.write_truth_file(path); });
  if (simulation.is_coarse()) {
    add(parameters.name + ".fine.truth.fits",
        [&](const auto& path) { simulation.write_fine_truth_file(path); });
  }
  add(parameters.name + ".frames.csv",
      [&](const auto& path) { files::write_file(path, simulation.table()); });
  add(parameters.name + ".json", [&](const auto& path) {
    files::write_file(path, simulation.description(file).dump(1) + "\n");
  });
  if (parameters.calibration_frames > 0) {
    for (const bool dark : {true, false}) {
      add(parameters.name + (dark ? "_dark." : "_flat.") + parameters.container,
          [&](const auto& path) { simulation.write_calibration(path, dark); });
    }
  }
}

fs::path simulate(const Parameters& parameters, const fs::path& folder, const Progress& progress) {
  check(parameters);
  std::error_code failed;
  fs::create_directories(folder, failed);
  const fs::path path = folder / file_of(parameters);
  files::check_writable(path.string());
  files::Results results;
  add_capture(parameters, nullptr, folder, results, progress);
  results.commit();
  return path;
}

}  // namespace lull::lab
