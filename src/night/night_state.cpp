#include "night/night_state.h"

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "night/claim.h"
#include "night/record.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

// From the root, since those who look on have another working folder.
json captures_json(const Picture& picture) {
  json out = json::array();
  for (const std::string& capture : picture.captures) {
    std::error_code error;
    const fs::path whole = fs::weakly_canonical(fs::absolute(capture, error), error);
    out.push_back(files::name_text(error ? capture : whole.string()));
  }
  return out;
}

std::vector<std::string> names_in(const json& list) {
  std::vector<std::string> out;
  out.reserve(list.size());
  for (const json& one : list) out.push_back(files::name_of_text(one.get<std::string>()));
  return out;
}

NotedPlan noted_in(const json& plan) {
  NotedPlan out;
  for (const json& one : plan.at("pictures"))
    out.names.insert(files::name_of_text(one.at("name").get<std::string>()));
  for (const json& one : plan.at("left_out"))
    out.left_out.push_back({files::name_of_text(one.at("capture").get<std::string>()),
                            one.at("why").get<std::string>(), one.at("problem").get<bool>()});
  for (const json& one : plan.at("sets"))
    out.sets.push_back({one.at("kind").get<std::string>(), names_in(one.at("pictures")),
                        one.at("why").get<std::string>()});
  return out;
}

std::map<std::string, PictureState> planned(const NightFolder& place) {
  std::map<std::string, PictureState> out;
  std::ifstream file(place.plan());
  try {
    const json plan = json::parse(file);
    for (const json& one : plan.at("pictures")) {
      PictureState state;
      state.name = files::name_of_text(one.at("name").get<std::string>());
      state.state = "waiting";
      state.captures = names_in(one.at("captures"));
      out[state.name] = std::move(state);
    }
  } catch (const json::exception&) {
    out.clear();
  }
  return out;
}

// A record is there before its picture: so a night that was stopped knows its own files.
bool is_open(const Record& record) {
  return !record.done && record.status == static_cast<int>(ExitStatus::interrupted);
}

}  // namespace

void save_plan(const Plan& plan, const NightFolder& place) {
  json pictures = json::array();
  for (const Picture& one : plan.pictures)
    pictures.push_back({{"name", files::name_text(one.name)}, {"captures", captures_json(one)}});
  for (const Merge& one : plan.merges)
    pictures.push_back({{"name", files::name_text(one.name)}, {"captures", json::array()}});
  json left_out = json::array();
  for (const LeftOut& one : plan.left_out)
    left_out.push_back({{"capture", files::name_text(one.capture)},
                        {"why", files::utf8_text(one.why)},
                        {"problem", one.is_problem}});
  json sets = json::array();
  for (const Set& one : plan.sets)
    sets.push_back({{"kind", one.kind},
                    {"pictures", files::name_texts(one.pictures)},
                    {"why", files::utf8_text(one.why)}});
  const json noted = {{"pictures", pictures}, {"left_out", left_out}, {"sets", sets}};
  NightFolder::make_folder_of(place.plan());
  files::write_file(place.plan(), files::json_text(noted, 1) + "\n");
}

std::optional<NotedPlan> noted_plan(const NightFolder& place) {
  std::ifstream file(place.plan());
  try {
    return noted_in(json::parse(file));
  } catch (const json::exception&) {
    return std::nullopt;
  }
}

bool is_of_a_night(const NightFolder& place) {
  std::error_code ignored;
  return fs::is_directory(place.state(), ignored) || fs::exists(place.plan(), ignored);
}

std::vector<PictureState> states_of(const NightFolder& place) {
  std::map<std::string, PictureState> states = planned(place);
  const bool has_plan = !states.empty();
  for (const Record& record : load_records(place)) {
    // What a former night made of captures that are gone is not shown.
    if (has_plan && !states.contains(record.name)) continue;
    PictureState& state = states[record.name];
    state.name = record.name;
    state.state = is_open(record) ? "waiting" : state_of(record);
    if (!has_plan) state.captures = record.captures;
    if (record.done || is_open(record)) continue;
    state.problem = record.problem;
    state.remedy = record.remedy;
  }
  std::vector<PictureState> out;
  out.reserve(states.size());
  for (auto& [name, state] : states) {
    if (!Claim::holder(place.lock(name)).empty()) {
      state.state = "at work";
      state.problem.clear();
      state.remedy.clear();
    }
    out.push_back(std::move(state));
  }
  return out;
}

}  // namespace lull::night
