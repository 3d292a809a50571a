#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/texts.h"
#include "core/words.h"
#include "files/name_text.h"

namespace lull::cli {

namespace {

using night::Fate;

std::int64_t count(const night::NightOutcome& outcome, Fate fate) {
  return static_cast<std::int64_t>(outcome.count(fate));
}

const char* state_of(const night::JobResult& result) {
  if (result.fate == Fate::made) return "made";
  return result.fate == Fate::there_already ? "done before" : night::state_of(result.record);
}

}  // namespace

std::string night_text(const night::NightOutcome& outcome) {
  std::string text = fmt::format("{} made, {} done before, {} failed\n",
                                 counted(count(outcome, Fate::made), "picture"),
                                 count(outcome, Fate::there_already), outcome.problems());
  for (const night::JobResult& result : outcome.results) {
    if (result.fate != Fate::failed) continue;
    text += fmt::format("failed: {}: {}", result.record.name, result.record.problem);
    text += result.record.remedy.empty() ? "\n" : "; " + result.record.remedy + "\n";
  }
  for (const night::LeftOut& one : outcome.left_out)
    text += fmt::format("{}: {}\n", one.is_problem ? "failed" : "left out", one.text());
  for (const std::string& note : outcome.plan.notes) text += fmt::format("note: {}\n", note);
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  std::string caution;
  for (const night::JobResult& result : outcome.results) {
    if (!result.record.caution.empty()) caution = result.record.caution;
  }
  return caution.empty() ? text : text + caution + "\n";
}

nlohmann::json night_json(const night::NightOutcome& outcome) {
  nlohmann::json pictures = nlohmann::json::array();
  for (const night::JobResult& result : outcome.results) {
    const night::Record& record = result.record;
    pictures.push_back({{"name", files::name_text(record.name)},
                        {"state", state_of(result)},
                        {"problem", files::utf8_text(record.problem)},
                        {"remedy", files::utf8_text(record.remedy)},
                        {"status", record.status}});
  }
  nlohmann::json left_out = nlohmann::json::array();
  for (const night::LeftOut& one : outcome.left_out) {
    left_out.push_back({{"capture", files::name_text(one.capture)},
                        {"why", files::utf8_text(one.why)},
                        {"problem", one.is_problem}});
  }
  return {{"pictures", pictures},
          {"left_out", left_out},
          {"notes", files::name_texts(outcome.plan.notes)},
          {"written", files::name_texts(outcome.written)}};
}

}  // namespace lull::cli
