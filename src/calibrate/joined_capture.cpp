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

class JoinedCapture final : public Capture {
 public:
  JoinedCapture(std::vector<std::string> paths, const capture::OpenOptions& options)
      : paths_(std::move(paths)), options_(options) {
    LULL_ASSERT(!paths_.empty());
    std::int64_t frames = 0;
    for (const std::string& path : paths_) {
      const CaptureInfo info = Capture::open(path, options_)->info();
      if (path == paths_.front()) info_ = info;
      if (!stored_alike(info_, info)) {
        throw InputError(
            fmt::format("{}: cannot be combined with {}: this is {}, that is {}. Combine only what "
                        "was recorded with the same camera settings.",
                        path, paths_.front(), layout_of(info), layout_of(info_)));
      }
      if (info.full_scale > info_.full_scale) info_ = info;
      frames += info.storage.header_frames;
    }
    info_.path = paths_.front();
    info_.storage.header_frames = frames;
    info_.storage.intra_only = false;
    rewind();
  }

  [[nodiscard]] const CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<Frame> next() override {
    while (true) {
      auto outcome = current_->next();
      if (outcome.ok() || outcome.reason() != Reject::past_the_end) {
        ++tally_.frames;
        if (!outcome.ok()) {
          ++tally_.damaged;
          return outcome;
        }
        Frame frame = outcome.value();
        frame.index = tally_.frames - 1;
        return frame;
      }
      if (at_ + 1 == paths_.size()) return outcome;
      current_ = Capture::open(paths_[++at_], options_);
    }
  }

  void rewind() override {
    tally_ = {};
    at_ = 0;
    current_ = Capture::open(paths_.front(), options_);
  }

  /// In order only: an earlier frame is found from the start again.
  [[nodiscard]] Outcome<Frame> at(FrameIndex index) override {
    if (index < tally_.frames) rewind();
    while (tally_.frames < index) {
      const auto outcome = next();
      if (!outcome.ok() && outcome.reason() == Reject::past_the_end) return outcome;
    }
    return next();
  }

  [[nodiscard]] Tally tally() const override { return tally_; }

 private:
  std::vector<std::string> paths_;
  capture::OpenOptions options_;
  CaptureInfo info_;
  std::unique_ptr<Capture> current_;
  std::size_t at_ = 0;
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
                                     const capture::OpenOptions& options) {
  if (paths.size() == 1) return Capture::open(paths.front(), options);
  return std::make_unique<JoinedCapture>(paths, options);
}

}  // namespace lull::calibrate
