#include "night/do_job.h"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "night/claim.h"
#include "night/duplicates.h"
#include "report/fingerprint.h"
#include "run/master_outcome.h"
#include "run/merge_outcome.h"
#include "run/outputs.h"
#include "run/repeat_command.h"
#include "run/stack_outcome.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using run::RunControl;

// What a master is made of; a change makes it anew.
std::string master_key(const Master& master, const NightFolder& place) {
  nlohmann::json key = {{"version", LULL_VERSION}, {"kind", kind_name(master.kind)}};
  for (const std::string& capture : master.captures)
    key["captures"].push_back(input_fingerprint(capture));
  if (!master.flat_dark.empty())
    key["dark"] = report::fingerprint_of(place.master(master.flat_dark)).sha256;
  return report::sha256_of(key.dump());
}

std::string read_line(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  std::getline(file, line);
  return line;
}

void make_master(const Master& master, const NightFolder& place, const RunControl& control,
                 const CancelToken& cancel) {
  const std::string output = place.master(master.name);
  const std::string key_file = output + ".key";
  NightFolder::make_folder_of(output);
  const auto claim = Claim::take(output + ".lock", cancel, Claim::Holder::is_waited_for);
  const std::string key = master_key(master, place);
  std::error_code ignored;
  if (fs::exists(output, ignored) && read_line(key_file) == key) return;
  run::MasterRequest request;
  request.inputs = without_copies(master.captures);
  request.output = output;
  request.kind =
      master.kind == Kind::dark ? calibrate::MasterKind::dark : calibrate::MasterKind::flat;
  if (!master.flat_dark.empty()) request.flat_dark = place.master(master.flat_dark);
  RunControl replacing = control;
  replacing.resources.existing = run::ExistingFiles::replace;
  static_cast<void>(run::run_master(request, replacing));
  files::write_file(key_file, key + "\n");
}

std::string command_of(const NightJob& job) {
  return job.is_merge() ? run::repeat_command("merge", run::merge_options(), job.merge())
                        : run::repeat_command("stack", run::stack_options(), job.stack());
}

void write_log(const NightJob& job, const NightFolder& place, const std::string& text) {
  const std::string path = place.log(job.name);
  NightFolder::make_folder_of(path);
  const std::string head = fmt::format("lull {}\n{}\n", LULL_VERSION, command_of(job));
  files::write_file(path, files::utf8_text(head + text));
}

template <class Outcome>
std::string log_of(const Outcome& outcome) {
  std::string text;
  for (const std::string& note : outcome.notes) text += "note: " + note + "\n";
  if (!outcome.caution.empty()) text += outcome.caution + "\n";
  for (const std::string& path : outcome.written) text += "wrote " + path + "\n";
  return text + "figures: " + files::json_text(run::to_json(outcome), 1) + "\n";
}

// Pictures of this night may be replaced; what is not its own is kept, unless the user says so.
// The files of a run appear before its record, and it may be killed between the two: so a record
// that the night began stands there before. @return what the run may do.
RunControl announced(const NightJob& job, const NightFolder& place, const RunControl& control) {
  RunControl out = control;
  const auto earlier = load_record(place, job.name);
  if (!earlier || !earlier->begun) {
    const fs::path picture = job.output();
    const auto beside = [&](const char* ending) {
      return fs::path(picture).replace_extension(ending).string();
    };
    run::check_results(
        {picture.string(), beside(".linear.fits"), beside(".recipe.json"), job.report_path()},
        job.inputs(), control.resources);
    Record begun = record_of_failure(job, "interrupted; run the night again",
                                     static_cast<int>(ExitStatus::interrupted));
    begun.begun = true;
    save_record(place, begun);
  }
  out.resources.existing = run::ExistingFiles::replace;
  return out;
}

// Makes the parts that are not there. @param keys  is filled with theirs.
// @return why there is no picture in colour; empty: none.
std::string lack_of_parts(const NightJob& job, const NightFolder& place, const RunControl& control,
                          const CancelToken& cancel, std::vector<std::string>& keys) {
  for (const NightJob& part : job.parts) {
    const auto earlier = load_record(place, part.name);
    const bool has_failed =
        earlier && !earlier->done && !earlier->key.empty() && earlier->key == job_key(part);
    const std::string why = fmt::format("not merged, since {} failed", part.name);
    if (has_failed) return why;
    const JobResult result = do_job(part, place, control, cancel);
    if (result.fate == Fate::failed) return why;
    keys.push_back(result.record.key);
  }
  return {};
}

// What is left out is not stacked: so to the last byte, but once.
// @return for its record; none: it is no copy.
std::optional<std::string> key_of_copy(const NightJob& job, const std::string& key,
                                       const std::optional<Record>& earlier) {
  std::error_code ignored;
  if (job.copy_of.empty() || !fs::exists(job.copy_of, ignored)) return std::nullopt;
  std::string out = report::sha256_of(key + input_fingerprint(job.copy_of));
  const bool was_copy = earlier && earlier->skipped && earlier->key == out;
  if (!was_copy && !same_bytes(job.captures().front(), job.copy_of)) return std::nullopt;
  return out;
}

// @return of what was made.
Record made(const NightJob& job, const NightFolder& place, const RunControl& control) {
  const auto record = [&](const auto& outcome) {
    write_log(job, place, log_of(outcome));
    return record_of(job, outcome);
  };
  if (job.is_merge()) return record(run::run_merge(job.merge(), control));
  return record(run::run_stack(job.stack(), control));
}

}  // namespace

JobResult do_job(const NightJob& job, const NightFolder& place, const RunControl& control,
                 const CancelToken& cancel) {
  const auto claim = Claim::take(place.lock(job.name), cancel, Claim::Holder::is_waited_for);
  JobResult out;
  const auto earlier = load_record(place, job.name);
  bool began = earlier && earlier->begun;
  std::string key;
  const auto fail = [&](const std::string& message, ExitStatus status) {
    out = {Fate::failed, record_of_failure(job, message, static_cast<int>(status))};
    write_log(job, place, "error: " + message + "\n");
  };
  try {
    const auto skip = [&](const std::string& why) {
      out = {Fate::skipped, record_of_skipped(job, why)};
      write_log(job, place, why + "\n");
    };
    std::vector<std::string> keys;
    const std::string lack = lack_of_parts(job, place, control, cancel, keys);
    if (lack.empty()) key = job_key(job, keys);
    if (!lack.empty()) {
      skip(lack);
    } else if (is_done(place, job, key)) {
      return {Fate::there_already, *earlier};
    } else if (const auto as_copy = key_of_copy(job, key, earlier)) {
      skip("the same bytes as " + job.copy_of);
      key = *as_copy;
    } else {
      NightFolder::make_folder_of(job.output());
      const RunControl allowed = announced(job, place, control);
      began = true;
      for (const Master& master : job.masters) make_master(master, place, control, cancel);
      out.record = made(job, place, allowed);
    }
  } catch (const Interrupted&) {
    throw;
  } catch (const RunError& error) {
    fail(error.what(), error.status());
  } catch (const std::bad_alloc&) {
    fail("the system refuses more memory; give --jobs 1 or a smaller --memory",
         ExitStatus::unwritable_output);
  } catch (const std::exception& error) {
    fail(fmt::format("internal error: {}", error.what()), ExitStatus::internal_error);
  }
  out.record.key = key;
  out.record.begun = began;
  save_record(place, out.record);
  return out;
}

}  // namespace lull::night
