#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <numbers>
#include <numeric>

#include "capture/film_writer.h"
#include "core/error.h"
#include "files/name_text.h"
#include "files/results.h"
#include "run/animate_outcome.h"
#include "run/film_series.h"
#include "run/outputs.h"

namespace lull::run {

namespace {

// The pictures in the order in which they are shown once, or as often as the film repeats them.
std::vector<std::size_t> sequence_of(const AnimateRequest& request, capture::FilmFormat format) {
  std::vector<std::size_t> once(request.pictures.size());
  std::iota(once.begin(), once.end(), std::size_t{0});
  if (request.order == PlayOrder::there_and_back) {
    // The ends are not shown twice in a row.
    for (std::size_t i = once.size() - 1; i-- > 1;) once.push_back(i);
  }
  std::vector<std::size_t> all = once;
  if (capture::states_loops(format)) return all;
  for (int i = 1; i < request.plays; ++i) all.insert(all.end(), once.begin(), once.end());
  return all;
}

void check_pictures(const AnimateRequest& request) {
  if (request.pictures.size() >= 2) return;
  throw UsageError(fmt::format("{}: a film needs two pictures or more; give the others too",
                               request.pictures.empty() ? "animate" : request.pictures.front()));
}

// The table of a GIF is that of all pictures.
std::vector<files::Rgb> colours_of(const FilmSeries& series, const Progress& progress) {
  files::ColourCount count;
  for (std::size_t i = 0; i < series.count(); ++i) {
    progress.step("choosing colours", static_cast<std::int64_t>(i),
                  static_cast<std::int64_t>(series.count()));
    count.add(series.shown(i));
  }
  return count.table();
}

void write_film(const std::filesystem::path& path, const FilmSeries& series,
                const std::vector<std::size_t>& sequence, const AnimateRequest& request,
                const Progress& progress) {
  const capture::FilmFormat format = capture::film_format_of(request.output);
  capture::FilmOptions options{request.speed, request.plays, {}};
  if (format == capture::FilmFormat::gif) options.colours = colours_of(series, progress);
  capture::FilmWriter writer(path, capture::film_size(format, series.size()), options);
  for (std::size_t i = 0; i < sequence.size(); ++i) {
    progress.step("writing the film", static_cast<std::int64_t>(i),
                  static_cast<std::int64_t>(sequence.size()));
    writer.add(series.shown(sequence[i]));
  }
  writer.finish();
  const auto total = static_cast<std::int64_t>(sequence.size());
  progress.step("writing the film", total, total);
}

}  // namespace

AnimateOutcome run_animate(const AnimateRequest& request, const RunControl& control) {
  check_complete(animate_options(), request);
  check_pictures(request);
  const capture::FilmFormat format = capture::film_format_of(request.output);
  check_results({request.output}, request.pictures, control.resources);
  const FilmSeries series(request, control.progress);
  const std::vector<std::size_t> sequence = sequence_of(request, format);
  files::Results results;
  results.add(
      request.output,
      [&](const auto& path) { write_film(path, series, sequence, request, control.progress); },
      files::Results::Format::of_name);
  commit(results, control.resources);
  AnimateOutcome outcome;
  outcome.request = request;
  outcome.size = capture::film_size(format, series.size());
  outcome.shown = std::ssize(sequence);
  outcome.maps = series.maps();
  outcome.gains = series.gains();
  return outcome;
}

nlohmann::json to_json(const AnimateOutcome& outcome) {
  nlohmann::json pictures = nlohmann::json::array();
  for (std::size_t i = 0; i < outcome.maps.size(); ++i) {
    const merge::Similarity& map = outcome.maps[i];
    pictures.push_back({{"name", files::name_text(outcome.request.pictures[i])},
                        {"shift_px", {map.shift.x_px, map.shift.y_px}},
                        {"turn_deg", map.turn * 180 / std::numbers::pi},
                        {"gain", outcome.gains[i]}});
  }
  return {{"pictures", pictures},
          {"width_px", outcome.size.width_px},
          {"height_px", outcome.size.height_px},
          {"shown", outcome.shown},
          {"pictures_per_s", outcome.request.speed},
          {"written", {files::name_text(outcome.request.output)}}};
}

}  // namespace lull::run
