#include "run/memory_need.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <system_error>
#include <thread>

#include "capture/frame_store.h"
#include "core/error.h"
#include "run/memory_size.h"
#include "stack/candidates.h"
#include "stack/frame_batch.h"

namespace lull::run {

namespace {

using capture::CaptureInfo;
using capture::Colour;

constexpr double kBytesMiB = 1024.0 * 1024.0;

// Frames of a survey: two blocks, of which survey/frame_block.cpp sets the size.
constexpr double kBlockBytes = 128 * kBytesMiB;
constexpr double kFewestInBlock = 4;
constexpr double kMostInBlock = 32;

// Bytes of each pixel of a frame besides.
constexpr double kSurveyMono = 10;
constexpr double kSurveyStored = 6;  // for each byte of a sample
constexpr double kSurveyMosaic = 50;
constexpr double kSurveyColour = 36;
constexpr double kStackMono = 250;
constexpr double kStackColour = 450;
constexpr double kFusion = 50;
constexpr double kPiecesMono = 110;    // sums of 5 planes, the first piece, what its pixels show
constexpr double kPiecesColour = 210;  // of 14
constexpr double kMasterPlane = 36;
constexpr double kVideo = 170;  // libav asks for 148 before it codes one

// Smaller frames are decoded first, since then the need is known to the byte.
constexpr double kDecodedAnywayPx = 16e6;

// Of the memory that a run does not need in any case: the rest is for frames at work.
constexpr double kCacheShare = 0.6;

// Without --memory, bench/README.md, Memory of a stack. Frames that are decoded are kept, all of
// them, since a second time costs as much as the first, and much more where frames are predicted
// from one another. Raw frames are read again at no measurable cost, but for those of the
// reference. Half of what is free is left to other programs and to the disk cache.
constexpr double kMostOfFree = 0.5;
constexpr double kLeastOfRest = 0.25;  // where the need is large

// Of the capture: record, energies, place and time stamp. 200 were measured, 240 in a stack, and
// lists that grow hold what they had for a moment.
constexpr double kBytesAFrame = 400;

double area(const CaptureInfo& info) { return static_cast<double>(info.size.area_px()); }

double planes_of(const CaptureInfo& info) {
  return info.colour == Colour::rgb || info.colour == Colour::yuv ? 3 : 1;
}

bool in_colour(const CaptureInfo& info) {
  return info.colour == Colour::cfa || planes_of(info) == 3;
}

double frame_bytes(const CaptureInfo& info) {
  return area(info) * planes_of(info) * std::ceil(info.bits.stored / 8.0);
}

// Headers lie: a file holds no more frames than it has room for.
double all_frames(const CaptureInfo& info) {
  constexpr double kSmallestFrame = 16;
  auto frames = static_cast<double>(info.storage.likely_frames);
  std::error_code none;
  const std::uintmax_t bytes = std::filesystem::file_size(info.path, none);
  if (!none) frames = std::min(frames, static_cast<double>(bytes) / kSmallestFrame);
  return kBytesAFrame * frames;
}

std::string in_words(double bytes) {
  return bytes < 1e9 ? fmt::format("{:.0f} MB", bytes / 1e6)
                     : fmt::format("{:.1f} GB", bytes / 1e9);
}

// As --memory takes it, rounded up.
std::string as_option(double bytes) { return fmt::format("{:.0f}M", std::ceil(bytes / kBytesMiB)); }

bool is_decoded(const CaptureInfo& info) { return info.storage.codec != "rawvideo"; }

std::size_t whole(double bytes) { return static_cast<std::size_t>(bytes); }

// Pictures at work in the decoder, see capture/limits.h.
double decoder_bytes(const CaptureInfo& info) {
  constexpr double kBytesPx = 4;
  if (!is_decoded(info)) return 0;
  const double one = kBytesPx * area(info);
  const double threads = std::min(std::thread::hardware_concurrency(), 16U);
  return std::max(2 * one, std::min(threads * one, 1024 * kBytesMiB));
}

}  // namespace

double need_of_survey(const CaptureInfo& info) {
  const double frame = std::max(frame_bytes(info), 1.0);
  const double block = frame * std::clamp(kBlockBytes / frame, kFewestInBlock, kMostInBlock);
  double others = kSurveyMono + kSurveyStored * std::ceil(info.bits.stored / 8.0);
  if (info.colour == Colour::cfa) others = kSurveyMosaic;
  if (planes_of(info) == 3) others = kSurveyColour;
  return 2 * block + others * area(info) + decoder_bytes(info) + all_frames(info);
}

double need_of_video(const CaptureInfo& info) { return kVideo * area(info); }

double need_of_stack(const CaptureInfo& info, stack::Fusion fusion) {
  const double a_pixel = (in_colour(info) ? kStackColour : kStackMono) +
                         (fusion == stack::Fusion::frequency ? kFusion : 0);
  return std::max(need_of_survey(info),
                  a_pixel * area(info) + decoder_bytes(info) + all_frames(info));
}

double need_of_pieces(const CaptureInfo& info) {
  return (in_colour(info) ? kPiecesColour : kPiecesMono) * area(info);
}

double need_of_master(const CaptureInfo& info) {
  return kMasterPlane * planes_of(info) * area(info) + 4 * frame_bytes(info) + decoder_bytes(info) +
         all_frames(info);
}

Spare spare_memory(const CaptureInfo& info, double need, const Resources& resources) {
  if (resources.memory_bytes != 0) {
    const double spare = std::max(static_cast<double>(resources.memory_bytes) - need, 0.0);
    return {whole(kCacheShare * spare), whole((1 - kCacheShare) * spare)};
  }
  const double left = std::max(free_memory() - need, 0.0);
  const double free = std::max(kMostOfFree * free_memory() - need, kLeastOfRest * left);
  const std::size_t batch = stack::FrameBatch::most_bytes(info);
  const double at_work = std::min(static_cast<double>(batch), free / 2);
  const double cache = free - at_work;
  if (is_decoded(info)) return {whole(cache), whole(at_work)};
  const double one = frame_bytes(info) + static_cast<double>(capture::FrameStore::kBesideSamples);
  return {whole(std::min(cache, one * stack::Candidates::kMostReference)), whole(at_work)};
}

void require_memory(const CaptureInfo& info, double need, const Resources& resources,
                    const std::string& less) {
  const bool long_one = all_frames(info) > need / 2;
  const std::string count = long_one ? std::to_string(info.storage.likely_frames) + " " : "";
  require_memory(fmt::format("{}: {}frames of {} x {} px", info.path, count, info.size.width_px,
                             info.size.height_px),
                 need, resources, long_one ? "split the capture" : less);
}

std::function<void(const std::string&, Size)> check_of(const MemoryNeed& need,
                                                       const Resources& resources) {
  return [need, resources](const std::string& path, Size size) {
    if (static_cast<double>(size.area_px()) <= kDecodedAnywayPx) return;
    CaptureInfo least;
    least.path = path;
    least.size = size;
    require_memory(fmt::format("{}: frames of {} x {} px", path, size.width_px, size.height_px),
                   need.bytes(least), resources, need.less);
  };
}

void require_memory(const std::string& what, double need, const Resources& resources,
                    const std::string& less) {
  const double free = free_memory();
  if (need > free) {
    throw NotEnoughMemory(fmt::format("{} need {} of memory, and this machine has {} free; {}",
                                      what, in_words(need), in_words(free), less));
  }
  const auto allowed = static_cast<double>(resources.memory_bytes);
  if (resources.memory_bytes == 0 || need <= allowed) return;
  throw NotEnoughMemory(
      fmt::format("{} need {} of memory, and --memory allows {}; give --memory "
                  "{}, or {}",
                  what, in_words(need), in_words(allowed), as_option(need), less));
}

}  // namespace lull::run
