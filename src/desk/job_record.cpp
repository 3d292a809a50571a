#include "desk/job_record.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <system_error>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr const char* kPrefix = ".lull-jobs-";
constexpr const char* kEnding = ".json";
constexpr std::size_t kMostBytes = std::size_t{4} << 20;

// A process and when it began (proc(5), field 22 of stat), since numbers of processes come again.
std::string process_name(const std::string& pid) {
  std::ifstream file("/proc/" + pid + "/stat");
  std::string text{std::istreambuf_iterator<char>(file), {}};
  // The name of the program, in parentheses, may hold anything.
  std::size_t at = text.rfind(')');
  if (at == std::string::npos) return {};
  for (int field = 2; field < 22 && at != std::string::npos; ++field) at = text.find(' ', at + 1);
  if (at == std::string::npos) return {};
  return pid + "-" + text.substr(at + 1, text.find(' ', at + 1) - at - 1);
}

// The process that a record belongs to; empty: this is no record.
std::string owner_of(const std::string& name) {
  const std::string prefix = kPrefix;
  const std::string ending = kEnding;
  if (!name.starts_with(prefix) || !name.ends_with(ending)) return {};
  return name.substr(prefix.size(), name.size() - prefix.size() - ending.size());
}

bool is_gone(const std::string& owner) {
  return process_name(owner.substr(0, owner.find('-'))) != owner;
}

json record_of(const std::vector<Job>& jobs) {
  json out = json::array();
  for (const Job& job : jobs) {
    const bool stays = !job.has_ended() || job.state == JobState::interrupted;
    if (!stays || job.facts.verb == "survey") continue;
    out.push_back({{"verb", job.facts.verb},
                   {"captures", job.facts.captures},
                   {"names", files::name_texts(job.facts.names)},
                   {"output", files::name_text(job.facts.output)},
                   {"command", files::utf8_text(job.facts.command)},
                   {"request", job.facts.request},
                   {"created_s", job.created_s}});
  }
  std::reverse(out.begin(), out.end());  // the oldest first
  return out;
}

Job job_in(const json& from) {
  Job job;
  job.facts.verb = from.at("verb").get<std::string>();
  job.facts.captures = from.at("captures").get<std::vector<std::string>>();
  for (const json& name : from.at("names"))
    job.facts.names.push_back(files::name_of_text(name.get<std::string>()));
  job.facts.output = files::name_of_text(from.at("output").get<std::string>());
  job.facts.command = from.at("command").get<std::string>();
  job.facts.request = from.at("request");
  job.created_s = from.at("created_s").get<std::int64_t>();
  job.state = JobState::interrupted;
  return job;
}

std::string text_in(const fs::path& path) {
  std::error_code error;
  if (fs::file_size(path, error) > kMostBytes || error) return {};
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

std::vector<Job> jobs_in_record(const std::string& text) {
  const json record = json::parse(text, nullptr, false);
  std::vector<Job> jobs;
  if (!record.is_array()) return jobs;
  for (const json& one : record) {
    try {
      jobs.push_back(job_in(one));
    } catch (const json::exception&) {  // damaged: the others may be whole
    }
  }
  return jobs;
}

JobRecord::JobRecord(fs::path folder)
    : folder_(std::move(folder)),
      file_(folder_ / (kPrefix + process_name(std::to_string(::getpid())) + kEnding)) {}

std::vector<Job> JobRecord::take_over() {
  std::vector<Job> jobs;
  std::error_code error;
  for (fs::directory_iterator entry(folder_, error), end; !error && entry != end;
       entry.increment(error)) {
    const std::string owner = owner_of(entry->path().filename().string());
    std::error_code ignored;
    if (owner.empty() || !is_gone(owner) || !entry->is_regular_file(ignored)) continue;
    for (Job& job : jobs_in_record(text_in(entry->path()))) jobs.push_back(std::move(job));
    fs::remove(entry->path(), ignored);
  }
  std::stable_sort(jobs.begin(), jobs.end(),
                   [](const Job& a, const Job& b) { return a.created_s < b.created_s; });
  return jobs;
}

void JobRecord::write(const std::vector<Job>& jobs) {
  const std::scoped_lock lock(guard_);
  std::error_code ignored;
  if (closed_ || !fs::is_directory(folder_, ignored)) return;
  const json record = record_of(jobs);
  if (record.empty()) {
    fs::remove(file_, ignored);
    return;
  }
  try {
    files::write_file(file_, files::json_text(record, 1));
  } catch (const OutputError&) {  // a full disk: what runs reports it itself
  }
}

void JobRecord::close() {
  const std::scoped_lock lock(guard_);
  closed_ = true;
}

}  // namespace lull::desk
