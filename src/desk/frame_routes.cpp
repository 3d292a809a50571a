#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>

#include "desk/frame_picture.h"
#include "desk/parameters.h"
#include "desk/picture_response.h"
#include "desk/routes.h"
#include "desk/sample_response.h"
#include "report/tone.h"
#include "survey/observer.h"

namespace lull::desk {

namespace {

using nlohmann::json;

constexpr int kThumbnailPx = 320;
constexpr int kThumbnailQuality = 85;
constexpr int kJpegQuality = 92;
constexpr std::int64_t kWidestPx = 1 << 20;

// What is looked at of one frame.
struct Look {
  Box box;
  int reduction = 1;
};

Look look_of(const Parameters& parameters, Size size) {
  Look look;
  look.box = area(parameters, "crop", size).value_or(Box{0, 0, size.width_px, size.height_px});
  const auto width = whole_number(parameters, "width", 1, kWidestPx).value_or(kWidestPx);
  look.reduction = static_cast<int>((look.box.width_px() + width - 1) / width);
  return look;
}

finish::Levels levels_of(const Parameters& parameters, OpenedCapture& capture) {
  const auto black = number(parameters, "black");
  const auto white = number(parameters, "white");
  if (!black && !white) return capture.levels();
  finish::Levels levels = capture.levels();
  levels = {black.value_or(levels.shown_as_black()), white.value_or(levels.white)};
  if (!(levels.black < levels.white)) throw Problem(400, "black is not below white");
  return levels;
}

Response recorded(const capture::Frame& frame, const capture::CaptureInfo& info,
                  const Parameters& parameters) {
  const Box box = look_of(parameters, frame.size()).box;
  const auto channels = static_cast<std::size_t>(frame.plane_count);
  const Size size = {box.width_px(), box.height_px()};
  check_samples(size, channels);
  Response out;
  out.body = recorded_bytes(frame, box);
  add_size(out, size, channels);
  out.headers.emplace_back("X-Bits", std::to_string(info.bits.used));
  out.headers.emplace_back("X-Cfa",
                           capture::cfa_name(capture::moved_cfa(info.cfa, box.x0, box.y0)));
  return out;
}

Response frame_response(Parts& parts, const Call& call) {
  const Parameters& parameters = call.request.parameters;
  const std::string format = word(parameters, "format", {"jpeg", "png", "samples", "recorded"});
  const auto index =
      whole_number_of("frame", call.part("index"), 0, std::numeric_limits<std::int64_t>::max());
  const ListedCapture listed = parts.catalogue.capture(call.part("id"));
  const PictureLimit::Place place(parts.pictures);
  const auto capture = parts.frames.open(listed);
  const capture::Frame frame = capture->frame(index);
  if (format == "recorded") return recorded(frame, capture->info(), parameters);
  const Look look = look_of(parameters, frame.size());
  check_samples({look.box.width_px(), look.box.height_px()}, 3);
  const files::Picture picture =
      reduced(light_of(frame, capture->info(), look.box), look.reduction);
  if (format == "samples")
    return sample_response(picture.view(),
                           {.levels = capture->levels(), .reduction = look.reduction});
  const files::Bitmap bitmap =
      report::toned(picture.view(), levels_of(parameters, *capture), files::Transfer::linear, 1);
  return format == "jpeg" ? jpeg_response(bitmap, kJpegQuality) : png_response(bitmap);
}

Response thumbnail(Parts& parts, const Call& call) {
  const ListedCapture listed = parts.catalogue.capture(call.part("id"));
  const PictureLimit::Place place(parts.pictures);
  const auto capture = parts.frames.open(listed);
  const auto survey = parts.surveys.find(listed.found);
  const FrameIndex index = survey && !survey->rank.order.empty()
                               ? survey->rank.survey.records[survey->rank.order.front()].index
                               : capture->good_frame();
  const capture::Frame frame = capture->frame(index);
  const Size size = frame.size();
  const int longer = std::max(size.width_px, size.height_px);
  const files::Picture picture =
      reduced(light_of(frame, capture->info(), {0, 0, size.width_px, size.height_px}),
              (longer + kThumbnailPx - 1) / kThumbnailPx);
  return jpeg_response(report::toned(picture.view(), capture->levels(), files::Transfer::linear, 1),
                       kThumbnailQuality);
}

// Energy of detail above the noise, over the square of the object's brightness: the share of each
// cell in the sharpness of the frame.
json cells_json(OpenedCapture& capture, FrameIndex index) {
  const capture::Frame good = capture.frame(capture.good_frame());
  const capture::Frame frame = capture.frame(index);
  survey::Observer observer(capture.info(), {good}, std::nullopt);
  std::vector<survey::Observation> seen;
  observer.observe({frame}, seen);
  const survey::Observation& one = seen.front();
  const quality::CellGrid energy = quality::detail_energy(
      one.cells, observer.noise_gain() * one.noise * one.noise, observer.target().object);
  const float square = static_cast<float>(one.brightness * one.brightness);
  json sharpness = json::array();
  for (const float value : energy.values()) sharpness.push_back(square > 0 ? value / square : 0);
  return {{"frame", index},
          {"cell_px", quality::kCellPx},
          {"columns", energy.columns()},
          {"rows", energy.rows()},
          {"sharpness", std::move(sharpness)},
          {"measure", quality::metric_name(observer.metric())}};
}

}  // namespace

void add_frame_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/captures/{id}/thumbnail",
             [&parts](const Call& call) { return thumbnail(parts, call); });
  router.add(Method::get, "/api/captures/{id}/frames/{index}",
             [&parts](const Call& call) { return frame_response(parts, call); });
  router.add(Method::get, "/api/captures/{id}/frames/{index}/cells", [&parts](const Call& call) {
    const auto index =
        whole_number_of("frame", call.part("index"), 0, std::numeric_limits<std::int64_t>::max());
    const ListedCapture listed = parts.catalogue.capture(call.part("id"));
    const PictureLimit::Place place(parts.pictures);
    return json_response(cells_json(*parts.frames.open(listed), index));
  });
}

}  // namespace lull::desk
