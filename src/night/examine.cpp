#include "night/examine.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <map>
#include <mutex>

#include "capture/capture.h"
#include "core/error.h"
#include "core/parallel.h"
#include "night/duplicates.h"
#include "night/name_facts.h"
#include "run/memory_need.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using capture::Capture;
using capture::CaptureInfo;

constexpr int kSquare = 16;
constexpr int kFramesLookedAt = 3;

// Of full scale. A dark has its offset and little else, even over the frame: common practice, no
// source.
constexpr double kDarkLevel = 0.15;
constexpr double kDarkSpread = 0.01;

// Seconds from the origin of Utc to 1970-01-01: 719,162 days.
constexpr std::int64_t kUnixEpoch_s = std::int64_t{719'162} * 86'400;

double mean_of_square(const SampleView& samples, int left, int top) {
  double sum = 0;
  for (int y = top; y < top + kSquare; ++y) {
    for (int x = left; x < left + kSquare; ++x) {
      sum += samples.type == SampleType::u8 ? samples.row<std::uint8_t>(y)[x]
                                            : samples.row<std::uint16_t>(y)[x];
    }
  }
  return sum / (kSquare * kSquare);
}

bool is_even_and_dark(const SampleView& samples, double full_scale) {
  std::vector<double> means;
  for (int y = 0; y + kSquare <= samples.height_px; y += kSquare) {
    for (int x = 0; x + kSquare <= samples.width_px; x += kSquare)
      means.push_back(mean_of_square(samples, x, y));
  }
  if (means.empty()) return false;
  const auto [least, most] = std::minmax_element(means.begin(), means.end());
  return *most <= kDarkLevel * full_scale && *most - *least <= kDarkSpread * full_scale;
}

std::string colour_of(const CaptureInfo& info) {
  return std::string(info.colour == capture::Colour::cfa ? capture::cfa_name(info.cfa)
                                                         : capture::colour_name(info.colour));
}

void read_header(Facts& facts) {
  const auto source = Capture::open(facts.found.path, {.decoder_threads = 1});
  const CaptureInfo& info = source->info();
  facts.size = info.size;
  facts.colour = colour_of(info);
  facts.stored_bits = info.bits.stored;
  facts.frames = facts.found.pictures > 0 ? facts.found.pictures : info.storage.likely_frames;
  if (info.times.exposure_s > 0) facts.said.exposure_s = info.times.exposure_s;
  if (info.times.begun) facts.when_s = info.times.begun->ticks / kTicksPerSecond;
  // With room for darks and flats, and for the program itself.
  constexpr double kBeside = 1.15;
  constexpr double kProgram = 100e6;
  facts.need_bytes = kBeside * run::need_of_stack(info, stack::Fusion::frequency) + kProgram;
}

void judge_kind(Facts& facts) {
  if (facts.said.kind) {
    facts.kind = *facts.said.kind;
    facts.kind_from = "name";
  } else if (facts.said.target.empty() && facts.said.filter.empty() &&
             shows_no_light(facts.found.path)) {
    facts.kind = Kind::dark;
    facts.kind_from = "frames, which show no light";
  }
}

Facts facts_of(const capture::FoundCapture& found, const NameReader& reader,
               std::optional<Kind> kind) {
  Facts facts;
  facts.found = found;
  facts.name = (fs::path(found.folder) / found.name).generic_string();
  facts.said = reader.read(found.folder, found.name);
  facts.when_s = found.modified_s + kUnixEpoch_s;
  if (kind) facts.said.kind = kind;
  try {
    read_header(facts);
    judge_kind(facts);
  } catch (const Interrupted&) {
    throw;
  } catch (const RunError& error) {
    facts.problem = error.what();
  }
  return facts;
}

// The same header, so the same facts; only its name is its own.
Facts facts_of_copy(const capture::FoundCapture& found, const Facts& first,
                    const NameReader& reader) {
  if (!first.problem.empty()) return facts_of(found, reader, std::nullopt);
  Facts facts = first;
  facts.found = found;
  facts.name = (fs::path(found.folder) / found.name).generic_string();
  facts.said = reader.read(found.folder, found.name);
  if (!facts.said.exposure_s) facts.said.exposure_s = first.said.exposure_s;
  if (facts.said.kind) facts.kind = *facts.said.kind;
  facts.copy_of = first.found.path;
  return facts;
}

std::vector<Facts> facts_of_all(const std::vector<capture::FoundCapture>& found,
                                const NameReader& reader, std::optional<Kind> kind,
                                const Progress& progress) {
  std::vector<Facts> out(found.size());
  const auto total = static_cast<std::int64_t>(found.size());
  std::mutex guard;
  std::int64_t done = 0;
  parallel_for(total, [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    out[at] = facts_of(found[at], reader, kind);
    const std::scoped_lock lock(guard);
    progress.step("looking through the folder", ++done, total);
  });
  return out;
}

// @param copies  by the path of each, that of the first.
void add_copies(std::vector<Facts>& captures, const std::vector<capture::FoundCapture>& likely,
                const std::map<std::string, std::string>& copies, const NameReader& reader) {
  std::map<std::string, std::size_t> places;
  for (std::size_t i = 0; i < captures.size(); ++i) places[captures[i].found.path] = i;
  captures.reserve(captures.size() + likely.size());
  for (const capture::FoundCapture& one : likely)
    captures.push_back(facts_of_copy(one, captures[places.at(copies.at(one.path))], reader));
}

// A folder of darks, or one file alone.
capture::FolderContent calibration_in(const std::string& place) {
  std::error_code ignored;
  if (fs::is_directory(place, ignored)) return capture::captures_in(place, {});
  capture::FoundCapture found;
  found.path = place;
  found.name = fs::path(place).filename().string();
  found.bytes = fs::file_size(place, ignored);
  return {{found}, {}};
}

void add_calibration(Examined& out, const std::vector<std::string>& places, Kind kind,
                     const NameReader& reader, const Progress& progress) {
  for (const std::string& place : places) {
    std::error_code ignored;
    if (!fs::exists(place, ignored)) {
      const std::string kinds = kind_name(kind) + "s";
      out.left_out.push_back(
          {place,
           fmt::format("is not there; [calibration] of the profile names it for {}; check that its "
                       "disk is there, or correct the profile",
                       kinds),
           true});
      continue;
    }
    try {
      const capture::FolderContent content = calibration_in(place);
      for (Facts& facts : facts_of_all(content.captures, reader, kind, progress)) {
        if (!facts.problem.empty()) out.left_out.push_back({facts.found.path, facts.problem, true});
        out.calibration.push_back(std::move(facts));
      }
    } catch (const InputError& error) {
      out.left_out.push_back({place, error.what(), true});
    }
  }
}

}  // namespace

bool shows_no_light(const std::string& path) {
  const auto source = Capture::open(path, {.decoder_threads = 1});
  const double full_scale = source->info().full_scale;
  for (int i = 0; i < kFramesLookedAt; ++i) {
    const Outcome<capture::Frame> frame = source->next();
    if (!frame.ok()) return i > 0 && frame.reason() == Reject::past_the_end;
    if (!is_even_and_dark(frame.value().planes[0], full_scale)) return false;
  }
  return true;
}

Examined examine(const std::string& folder, const std::string& results,
                 const profile::Profile& profile, const Progress& progress) {
  Examined out;
  capture::FolderContent content = capture::captures_in(folder, results);
  for (const capture::FolderProblem& problem : content.problems)
    out.left_out.push_back({folder, problem.what + "; " + problem.remedy, true});
  std::map<std::string, std::string> copies;
  for (const Duplicate& one : take_duplicates(content.captures)) {
    if (one.is_sure)
      out.left_out.push_back({one.path, "the same bytes as " + one.same_as, false});
    else
      copies[one.path] = one.same_as;
  }
  const NameReader reader(profile);
  const auto alike = std::stable_partition(
      content.captures.begin(), content.captures.end(),
      [&](const capture::FoundCapture& one) { return !copies.contains(one.path); });
  const std::vector<capture::FoundCapture> likely(alike, content.captures.end());
  content.captures.erase(alike, content.captures.end());
  out.captures = facts_of_all(content.captures, reader, std::nullopt, progress);
  add_copies(out.captures, likely, copies, reader);
  add_calibration(out, profile.darks, Kind::dark, reader, progress);
  add_calibration(out, profile.flats, Kind::flat, reader, progress);
  // What lies in the folder of the night as well counts once.
  std::erase_if(out.calibration, [&](const Facts& one) {
    std::error_code ignored;
    return std::any_of(out.captures.begin(), out.captures.end(), [&](const Facts& other) {
      return other.found.bytes == one.found.bytes &&
             fs::equivalent(other.found.path, one.found.path, ignored);
    });
  });
  return out;
}

}  // namespace lull::night
