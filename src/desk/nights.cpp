#include "desk/nights.h"

#include <algorithm>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "desk/problem.h"
#include "files/name_text.h"
#include "night/night_state.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr std::size_t kMostFolders = 1000;  // in one folder

/// Ids of captures by their names from the root.
using Ids = std::map<fs::path, std::string>;

void add_folders_in(const fs::path& folder, std::set<fs::path>& out) {
  std::error_code error;
  std::size_t count = 0;
  for (fs::directory_iterator entry(folder, error), end;
       !error && entry != end && count < kMostFolders; entry.increment(error)) {
    std::error_code ignored;
    if (!entry->is_directory(ignored)) continue;
    out.insert(entry->path());
    ++count;
  }
}

json picture_json(const night::PictureState& picture, const Ids& ids) {
  json captures = json::array();
  for (const std::string& capture : picture.captures) {
    std::error_code ignored;
    const auto id = ids.find(fs::weakly_canonical(capture, ignored));
    if (id != ids.end()) captures.push_back(id->second);
  }
  json error = nullptr;
  if (!picture.problem.empty())
    error =
        to_json(Problem(422, files::utf8_text(picture.problem), files::utf8_text(picture.remedy)));
  return {{"name", files::name_text(picture.name)},
          {"state", picture.state},
          {"captures", std::move(captures)},
          {"error", std::move(error)}};
}

}  // namespace

std::vector<NearNight> nights_near(const DeskRequest& request) {
  std::error_code error;
  const fs::path folder = fs::weakly_canonical(request.folder, error);
  if (error) return {};
  std::set<fs::path> places = {folder, fs::weakly_canonical(request.results_folder(), error)};
  add_folders_in(folder, places);
  std::vector<NearNight> out;
  for (const fs::path& place : places) {
    if (night::NightFolder results(place); night::is_of_a_night(results))
      out.push_back({capture::id_of(place.string()), results});
  }
  return out;
}

json night_json(const NearNight& night, const std::vector<capture::FoundCapture>& captures) {
  Ids ids;
  for (const capture::FoundCapture& one : captures) {
    std::error_code error;
    const fs::path whole = fs::weakly_canonical(one.path, error);
    if (!error) ids[whole] = one.id;
  }
  json pictures = json::array();
  bool is_of_these = false;
  for (const night::PictureState& picture : night::states_of(night.place)) {
    pictures.push_back(picture_json(picture, ids));
    is_of_these = is_of_these || !pictures.back().at("captures").empty();
  }
  if (!is_of_these) return nullptr;
  std::error_code ignored;
  return {{"id", night.id},
          {"results", files::name_text(night.place.results().filename().string())},
          {"has_page", fs::exists(night.place.page(), ignored)},
          {"pictures", std::move(pictures)}};
}

std::string file_of_night(const std::vector<NearNight>& nights, const std::string& id,
                          const std::string& name) {
  const auto night = std::find_if(nights.begin(), nights.end(),
                                  [&](const NearNight& one) { return one.id == id; });
  if (night == nights.end())
    throw Problem(404, "no night has the id '" + id + "'", "GET /api/nights lists them");
  const night::NightFolder& place = night->place;
  std::set<std::string> known = {place.page(), place.table(), place.figures()};
  for (const night::PictureState& picture : night::states_of(place)) {
    known.insert(picture.state == "done" ? place.picture(picture.name, ".html")
                                         : place.log(picture.name));
  }
  const std::string file = (place.results() / name).string();
  std::error_code ignored;
  if (!known.contains(file) || !fs::exists(file, ignored) ||
      !capture::lies_within(file, place.results()))
    throw Problem(404, "this night has no such file", "open its night.html");
  return file;
}

}  // namespace lull::desk
