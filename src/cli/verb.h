#pragma once

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "cli/help.h"
#include "cli/presentation.h"
#include "cli/progress_line.h"
#include "cli/streams.h"
#include "core/cancel.h"
#include "core/parallel.h"
#include "files/name_text.h"
#include "run/control.h"
#include "run/option.h"
#include "run/profile_options.h"

namespace lull::cli {

/// A verb of the program: its options, and what is done when it is named.
class Verb {
 public:
  /// @param example  a typical command line.
  Verb(std::string name, std::string summary, std::string example)
      : name_(std::move(name)), summary_(std::move(summary)), example_(std::move(example)) {}

  Verb(const Verb&) = delete;
  Verb& operator=(const Verb&) = delete;
  virtual ~Verb() = default;

  [[nodiscard]] const std::string& name() const { return name_; }

  [[nodiscard]] const std::string& summary() const { return summary_; }

  /// All options, in the order in which help lists them within a group.
  [[nodiscard]] virtual std::vector<run::OptionFacts> options() const = 0;

  [[nodiscard]] VerbHelp help() const { return {name_, summary_, example_, options()}; }

  /// Declares the options to the parser, as a subcommand. Outlives it.
  void define(CLI::App& app);

  /// After parsing: runs, and prints the outcome to standard output.
  /// @throws RunError.
  virtual void execute(const CancelToken& cancel) = 0;

 protected:
  /// An option as the command line gave it.
  struct Given {
    std::string name;
    std::string text;
  };

  /// Sets what the command line gave of a table.
  template <class Part>
  void apply(const run::OptionTable<Part>& table, Part& part) const {
    for (const run::Option<Part>& option : table) {
      std::vector<std::string> values;
      for (const Given& given : given_) {
        if (option.facts.name == given.name) values.push_back(given.text);
      }
      if (!values.empty()) run::set_all(option, part, values);
    }
  }

  /// @throws UsageError for an option that the recipe holds.
  void check_recipe_alone() const;

  std::vector<Given> given_;

 private:
  void add(CLI::App& command, const run::OptionFacts& facts);

  std::string name_;
  std::string summary_;
  std::string example_;
};

/// Shows the progress of a run on standard error until it ends.
template <class Run>
auto with_progress(const Presentation& presentation, std::vector<run::Stage> stages,
                   const run::Resources& resources, const CancelToken& cancel, const Run& run) {
  set_thread_count(resources.threads);
  ProgressLine line(presentation.progress_style(), std::move(stages));
  const auto show = [&line](std::string_view stage, std::int64_t done, std::int64_t total) {
    line.show(stage, done, total);
  };
  const CancelScope scope(&cancel);
  return run(run::RunControl{Progress(show, cancel), resources});
}

/// The functions of src/run behind a verb, and the words for what they find.
template <class Request, class Outcome>
struct Work {
  Outcome (*run)(const Request&, const run::RunControl&);
  nlohmann::json (*json)(const Outcome&);
  std::string (*text)(const Outcome&);
  Request (*of_recipe)(const std::string& path) = nullptr;  ///< none: repeats no recipe
  void (*require)(const Outcome&) = nullptr;  ///< after printing: throws if nothing came of it
};

template <class Request, class Outcome>
class WorkingVerb : public Verb {
 public:
  WorkingVerb(std::string name, std::string summary, std::string example,
              const run::OptionTable<Request>& table, run::OptionTable<run::Resources> resources,
              Work<Request, Outcome> work)
      : Verb(std::move(name), std::move(summary), std::move(example)),
        table_(table),
        resources_(std::move(resources)),
        presentation_(
            presentation_options(work.of_recipe != nullptr ? Repeats::recipe : Repeats::nothing)),
        work_(work) {}

  [[nodiscard]] std::vector<run::OptionFacts> options() const override {
    std::vector<run::OptionFacts> out;
    for (const auto& option : table_) out.push_back(option.facts);
    for (const auto& option : resources_) out.push_back(option.facts);
    for (const auto& option : presentation_) out.push_back(option.facts);
    return out;
  }

  void execute(const CancelToken& cancel) override {
    Presentation presentation;
    apply(presentation_, presentation);
    run::Resources resources;
    apply(resources_, resources);
    Request request;
    if (!presentation.recipe.empty()) {
      check_recipe_alone();
      request = work_.of_recipe(presentation.recipe);
    } else if (!presentation.profile.empty()) {
      Request asked;
      apply(table_, asked);
      run::apply_profile(run::load_profile(presentation.profile), table_, asked, request);
    }
    apply(table_, request);
    const Outcome outcome =
        with_progress(presentation, run::stages_of(request), resources, cancel,
                      [&](const run::RunControl& control) { return work_.run(request, control); });
    if (presentation.form == Form::json) {
      fmt::print("{}\n", files::json_text(work_.json(outcome), 1));
    } else {
      fmt::print("{}", fitted_lines(printable(work_.text(outcome)), terminal_columns()));
    }
    if (work_.require != nullptr) work_.require(outcome);
  }

 private:
  const run::OptionTable<Request>& table_;
  run::OptionTable<run::Resources> resources_;
  run::OptionTable<Presentation> presentation_;
  Work<Request, Outcome> work_;
};

/// All verbs, in the order of the work.
[[nodiscard]] std::vector<std::unique_ptr<Verb>> all_verbs();

}  // namespace lull::cli
