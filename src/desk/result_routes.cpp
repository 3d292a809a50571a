#include <filesystem>
#include <nlohmann/json.hpp>
#include <utility>

#include "capture/fits_axes.h"
#include "desk/option_json.h"
#include "desk/page_response.h"
#include "desk/parameters.h"
#include "desk/picture_response.h"
#include "desk/result_index.h"
#include "desk/result_names.h"
#include "desk/routes.h"
#include "files/name_text.h"
#include "run/finish_outcome.h"
#include "run/merge_outcome.h"
#include "run/mosaic_outcome.h"
#include "run/profile_options.h"
#include "run/repeat_command.h"
#include "run/stack_outcome.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr int kSmallPicturePx = 512;

json summary_json(Parts& parts, const Result& result, const std::vector<Result>& all) {
  json out = result_name_json(result);
  out["verb"] = result.verb;
  out["modified"] = time_json(result.modified_s);
  out["linear"] = !result.linear().empty();
  out["captures"] = captures_of(result, all, parts.request.folder);
  return out;
}

template <class Request>
std::string repeated(const ResultIndex& index, const Result& result,
                     const run::OptionTable<Request>& table,
                     Request (*request_of_recipe)(const std::string&)) {
  Request request = request_of_recipe((index.folder() / result.recipe_file).string());
  request.output = (index.folder() / result.picture).string();
  return run::repeat_command(result.verb, table, request);
}

// The recipe of a finish leaves open which stack it is for.
run::FinishRequest finish_request(const ResultIndex& index, const Result& result) {
  run::FinishRequest request =
      run::finish_request_of_recipe((index.folder() / result.recipe_file).string());
  request.input = result.inputs.empty() ? "" : result.inputs.front();
  request.output = (index.folder() / result.picture).string();
  return request;
}

std::string command_of(const ResultIndex& index, const Result& result) {
  if (result.verb == "finish")
    return run::repeat_command("finish", run::finish_options(), finish_request(index, result));
  if (result.verb == "merge")
    return repeated(index, result, run::merge_options(), run::merge_request_of_recipe);
  if (result.verb == "mosaic")
    return repeated(index, result, run::mosaic_options(), run::mosaic_request_of_recipe);
  return repeated(index, result, run::stack_options(), run::stack_request_of_recipe);
}

json details_json(Parts& parts, const std::string& id) {
  const std::vector<Result> all = parts.results.results();
  const Result result = parts.results.result(id);
  json out = summary_json(parts, result, all);
  json files = json::array();
  for (const ResultFile& file : result.files) {
    files.push_back(
        {{"name", files::name_text(file.name)}, {"bytes", file.bytes}, {"kind", file.kind}});
  }
  const json recipe = parts.results.recipe(result);
  const auto axes = result.linear().empty()
                        ? std::vector<std::int64_t>{}
                        : capture::fits_axes(parts.results.path_of(result, result.linear()));
  const bool known = axes.size() >= 2;
  out["width"] = known ? json(axes[0]) : json();
  out["height"] = known ? json(axes[1]) : json();
  out["channels"] = known ? json(axes.size() == 3 ? axes[2] : 1) : json();
  out["files"] = std::move(files);
  out["recipe"] = recipe.value("options", json::object());
  out["figures"] = recipe.value("figures", json::object());
  out["command"] = command_of(parts.results, result);
  return out;
}

Response file_response(Parts& parts, const Call& call) {
  const Result result = parts.results.result(call.part("id"));
  const std::string name = files::name_of_text(call.part("name"));
  const std::string file = parts.results.path_of(result, name).string();
  return name.ends_with(".html") ? report_response(file) : plain_response(file);
}

Response picture_response(Parts& parts, const std::string& id) {
  const Result result = parts.results.result(id);
  if (result.picture.empty()) throw Problem(404, "the picture of this result is gone");
  const PictureLimit::Place place(parts.pictures);
  return small_picture_response(parts.results.path_of(result, result.picture).string(),
                                kSmallPicturePx);
}

// A finish goes by what its stack holds, which the profile has given already.
json options_of(const std::string& verb, const profile::Profile& profile) {
  if (verb == "finish") return options_json(run::finish_options(), run::FinishRequest{});
  if (verb == "stack") {
    run::StackRequest standard;
    run::apply_profile(profile, run::stack_options(), {}, standard);
    return options_json(run::stack_options(), standard);
  }
  run::RankRequest standard;
  run::apply_profile(profile, run::rank_options(), {}, standard);
  return options_json(run::rank_options(), standard);
}

}  // namespace

void add_result_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/results", [&parts](const Call&) {
    const std::vector<Result> all = parts.results.results();
    json results = json::array();
    for (const Result& result : all) results.push_back(summary_json(parts, result, all));
    return json_response({{"results", std::move(results)}});
  });
  router.add(Method::get, "/api/options", [&parts](const Call& call) {
    const std::string verb = word(call.request.parameters, "verb", {"stack", "finish", "rank"});
    return json_response(
        {{"verb", verb}, {"options", options_of(verb, *parts.instruments.current())}});
  });
  router.add(Method::get, "/api/results/{id}", [&parts](const Call& call) {
    return json_response(details_json(parts, call.part("id")));
  });
  router.add(Method::get, "/api/results/{id}/picture",
             [&parts](const Call& call) { return picture_response(parts, call.part("id")); });
  router.add(Method::get, "/api/results/{id}/file/{name}",
             [&parts](const Call& call) { return file_response(parts, call); });
}

}  // namespace lull::desk
