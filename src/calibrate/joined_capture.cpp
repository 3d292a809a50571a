#include "calibrate/joined_capture.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <system_error>
#include <utility>

#include "core/error.h"

namespace lull::calibrate {

namespace {

namespace fs = std::filesystem;
using capture::Capture;
using capture::CaptureInfo;
using capture::Frame;

constexpr std::array kEndings = {".avi", ".bmp", ".fit", ".fits", ".fts", ".jpeg",
                                 ".jpg", ".m4v", ".mkv", ".mov",  ".mp4", ".nut",
                                 ".pgm", ".png", ".ppm", ".ser",  ".tif", ".tiff"};

[[nodiscard]] bool may_hold_frames(const fs::path& path) {
  std::string ending = path.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return !path.filename().string().starts_with(".") &&
         std::find(kEndings.begin(), kEndings.end(), ending) != kEndings.end();
}

[[nodiscard]] std::string layout_of(const CaptureInfo& info) {
  const std::string colour = info.colour == capture::Colour::cfa
                                 ? fmt::format("a {} mosaic", capture::cfa_name(info.cfa))
                                 : std::string(capture::colour_name(info.colour));
  return fmt::format("{} x {} pixels, {}, {} bits a sample at the {} end", info.size.width_px,
                     info.size.height_px, colour, info.bits.stored,
                     info.bits.high_aligned ? "high" : "low");
}

[[nodiscard]] bool stored_alike(const CaptureInfo& one, const CaptureInfo& other) {
  return one.size == other.size && one.colour == other.colour && one.cfa == other.cfa &&
         one.bits.stored == other.bits.stored && one.bits.high_aligned == other.bits.high_aligned;
}

constexpr std::ptrdiff_t kMostOpen = 4;  // captures; their decoders take memory

class JoinedCapture final : public Capture {
 public:
  JoinedCapture(const std::vector<std::string>& paths, const capture::OpenOptions& options,
                Beginnings beginnings)
      : options_(options), beginnings_(std::move(beginnings)) {
    LULL_ASSERT(!paths.empty());
    CaptureInfo first;
    bool all_counted = true;
    bool all_timed = true;
    std::int64_t frames = 0;
    std::int64_t likely = 0;
    for (const std::string& path : paths) {
      const CaptureInfo info = Capture::open(path, options_)->info();
      if (parts_.empty()) info_ = first = info;
      if (!stored_alike(info_, info)) {
        throw InputError(
            fmt::format("{}: cannot be combined with {}: this is {}, that is {}. Combine only what "
                        "was recorded with the same camera settings.",
                        path, paths.front(), layout_of(info), layout_of(info_)));
      }
      parts_.push_back({path, info.times.begun, nullptr, 0, 0});
      all_timed = all_timed && info.times.begun.has_value();
      all_counted = all_counted && info.storage.header_frames > 0;
      frames += info.storage.header_frames;
      likely += info.storage.likely_frames;
      if (info.full_scale > info_.full_scale) info_ = info;
    }
    info_.path = first.path;
    info_.times.frames_per_s = first.times.frames_per_s;
    info_.times.timecode = first.times.timecode;
    info_.times.begun = all_timed ? first.times.begun : std::nullopt;
    info_.times.begun_source = all_timed ? first.times.begun_source : std::string();
    info_.storage.header_frames = all_counted ? frames : 0;
    info_.storage.likely_frames = likely;
    info_.storage.intra_only = false;
    for (std::size_t i = 1; all_timed && i < parts_.size(); ++i)
      info_.times.later_begins_s.push_back(seconds_between(*first.times.begun, *parts_[i].begun));
    rewind();
  }

  [[nodiscard]] const CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<Frame> next() override {
    while (true) {
      auto outcome = opened(at_).next();
      if (outcome.ok() || outcome.reason() != Reject::past_the_end) {
        ++tally_.frames;
        if (!outcome.ok()) {
          ++tally_.damaged;
          return outcome;
        }
        last_time_s_ = outcome.value().time_s;
        return placed(outcome.value(), tally_.frames - 1);
      }
      if (at_ + 1 == parts_.size()) return outcome;
      begin_part(at_ + 1);
    }
  }

  void rewind() override {
    tally_ = {};
    at_ = 0;
    last_time_s_ = 0;
    opened(0).rewind();
  }

  /// Captures that were reached once are read at the frame itself.
  [[nodiscard]] Outcome<Frame> at(FrameIndex index) override {
    std::size_t part = known_ - 1;
    while (part > 0 && parts_[part].first > index) --part;
    at_ = part;
    auto found = opened(part).at(index - parts_[part].first);
    if (found.ok() || found.reason() != Reject::past_the_end) {
      tally_.frames = index + 1;
      if (!found.ok()) return found;
      last_time_s_ = found.value().time_s;
      return placed(found.value(), index);
    }
    rewind();
    while (tally_.frames < index) {
      auto outcome = next();
      if (!outcome.ok() && outcome.reason() == Reject::past_the_end) return outcome;
    }
    return next();
  }

  [[nodiscard]] Tally tally() const override { return tally_; }

 private:
  struct Part {
    std::string path;
    std::optional<Utc> begun;
    std::unique_ptr<Capture> capture;  ///< none: not open
    FrameIndex first = 0;              ///< of all
    double time_s = 0;                 ///< of its first frame
  };

  Capture& opened(std::size_t part) {
    if (parts_[part].capture == nullptr) {
      const auto open = std::count_if(parts_.begin(), parts_.end(),
                                      [](const Part& one) { return one.capture != nullptr; });
      if (open >= kMostOpen) {
        for (Part& one : parts_) one.capture.reset();
      }
      parts_[part].capture = Capture::open(parts_[part].path, options_);
    }
    return *parts_[part].capture;
  }

  // By the clock where every file states its start; else one frame interval after the last frame.
  void begin_part(std::size_t part) {
    Part& next = parts_[part];
    if (part >= known_) {
      known_ = part + 1;
      next.first = tally_.frames;
      if (beginnings_) beginnings_->push_back(next.first);
      next.time_s = parts_[at_].time_s + last_time_s_ +
                    (info_.times.frames_per_s > 0 ? 1 / info_.times.frames_per_s : 0);
      if (info_.times.begun) next.time_s = info_.times.later_begins_s[part - 1];
    }
    at_ = part;
    opened(part).rewind();
  }

  [[nodiscard]] Frame placed(Frame frame, FrameIndex index) const {
    frame.index = index;
    frame.time_s += parts_[at_].time_s;
    return frame;
  }

  std::vector<Part> parts_;
  capture::OpenOptions options_;
  Beginnings beginnings_;
  CaptureInfo info_;
  std::size_t at_ = 0;     ///< the part that next() reads
  std::size_t known_ = 1;  ///< parts whose first frame is known
  double last_time_s_ = 0;
  Tally tally_;
};

}  // namespace

std::vector<std::string> calibration_files(const std::string& path) {
  std::error_code failed;
  if (!fs::is_directory(path, failed)) return {path};
  std::vector<std::string> files;
  for (fs::directory_iterator entry(path, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    std::error_code ignored;
    if (entry->is_regular_file(ignored) && may_hold_frames(entry->path())) {
      files.push_back(entry->path().string());
    }
  }
  if (failed) {
    throw InputError(fmt::format("{}: the folder cannot be read ({}). Check its access rights.",
                                 path, failed.message()));
  }
  if (files.empty()) {
    throw InputError(
        fmt::format("{}: the folder holds no picture and no capture. Give the folder that holds "
                    "the dark or flat frames; its subfolders are not searched.",
                    path));
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::unique_ptr<Capture> open_joined(const std::vector<std::string>& paths,
                                     const capture::OpenOptions& options, Beginnings beginnings) {
  if (beginnings) *beginnings = {0};
  if (paths.size() == 1) return Capture::open(paths.front(), options);
  return std::make_unique<JoinedCapture>(paths, options, std::move(beginnings));
}

}  // namespace lull::calibrate
