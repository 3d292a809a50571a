#include <filesystem>
#include <limits>
#include <nlohmann/json.hpp>

#include "desk/parameters.h"
#include "desk/picture_response.h"
#include "desk/pyramids.h"
#include "desk/routes.h"

namespace lull::desk {

namespace {

using nlohmann::json;

constexpr int kTileQuality = 92;

std::shared_ptr<const TilePyramid> pyramid_of(Parts& parts, const Call& call) {
  const Result result = parts.results.result(call.part("id"));
  if (result.picture.empty()) throw Problem(404, "the picture of this result is gone");
  return parts.pyramids.of(parts.results.path_of(result, result.picture).string(),
                           result.modified_s, parts.results.folder().string(),
                           call.request.is_gone);
}

Response view(Parts& parts, const Call& call) {
  const auto pyramid = pyramid_of(parts, call);
  return json_response({{"width", pyramid->size().width_px},
                        {"height", pyramid->size().height_px},
                        {"channels", pyramid->channels()},
                        {"tile_px", TilePyramid::kTilePx},
                        {"levels", pyramid->levels()}});
}

Response tile(Parts& parts, const Call& call) {
  const auto number = [&](const char* name) {
    return whole_number_of(name, call.part(name), 0, std::numeric_limits<int>::max());
  };
  const auto bitmap =
      pyramid_of(parts, call)->tile(number("level"), number("column"), number("row"));
  return jpeg_response(bitmap, kTileQuality);
}

}  // namespace

void add_view_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/results/{id}/view",
             [&parts](const Call& call) { return view(parts, call); });
  router.add(Method::get, "/api/results/{id}/tiles/{level}/{column}/{row}",
             [&parts](const Call& call) { return tile(parts, call); });
}

}  // namespace lull::desk
