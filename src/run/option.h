#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "files/metadata.h"

namespace lull::run {

/// The heading of an option in help, pages and forms, in this order.
enum class OptionGroup {
  input,
  reading,
  calibration,
  frames,
  registration,
  detail,
  colour,
  tone,
  orientation,
  instrument,
  results,
  machine,
};

[[nodiscard]] std::string group_name(OptionGroup group);

/// Whether a recipe holds the option, and whether the command line may change it on a repeat.
enum class InRecipe { no, fixed, may_change };

/// How often an option is given.
enum class Presence {
  optional,  ///< once or not at all
  once,
  once_or_more,
  any_number,
};

/// What an option takes, for forms.
enum class OptionKind {
  text,    ///< anything that its parser takes
  choice,  ///< one of OptionFacts::choices
  number,  ///< within OptionFacts::bounds
  file,    ///< the name of a file or folder
  on_off,
};

/// Bounds of a number, both of which are allowed, and its unit for messages.
struct NumberRange {
  double low = 0;
  double high = 1;
  std::string unit{};
};

/// One option of any request: all that help, manual pages, forms, recipes and headers need.
struct OptionFacts {
  std::string name{};   ///< "--keep"; without dashes for what is given by its place
  std::string value{};  ///< placeholder of its value in help: "auto|15%|300"; empty for a switch
  OptionGroup group = OptionGroup::input;
  std::string help{};
  InRecipe in_recipe = InRecipe::no;
  std::string earlier{};             ///< value where a recipe of an earlier version has no such key
  std::vector<std::string> needs{};  ///< options without which this one has no meaning
  std::string card{};                ///< key of its FITS card; empty: none
  std::string card_comment{};
  std::string short_name{};  ///< "-o"
  Presence presence = Presence::optional;
  // Set by the kinds of run/option_kinds.h.
  OptionKind kind = OptionKind::text;
  std::vector<std::string> choices{};  ///< of OptionKind::choice
  NumberRange bounds{};                ///< of OptionKind::number

  [[nodiscard]] bool by_place() const { return !name.starts_with('-'); }

  [[nodiscard]] bool is_required() const {
    return presence == Presence::once || presence == Presence::once_or_more;
  }

  [[nodiscard]] bool takes_many() const {
    return presence == Presence::once_or_more || presence == Presence::any_number;
  }

  [[nodiscard]] bool is_switch() const { return value.empty(); }

  /// "white_balance" for --white-balance.
  [[nodiscard]] std::string recipe_key() const;
};

/// An option of a request. `set` reads a text as the command line gives it, checks it and stores
/// the typed value; a switch takes "true" and "false". @throws UsageError. `get` gives the value
/// as recipes hold it: a text that `set` reads back, a number, or true or false.
template <class Request>
struct Option {
  OptionFacts facts;
  std::function<void(Request&, const std::string& text)> set;
  std::function<nlohmann::json(const Request&)> get;
  std::function<void(Request&)>
      clear{};  ///< of OptionFacts::takes_many(), where set() adds a value
};

template <class Request>
using OptionTable = std::vector<Option<Request>>;

/// The options of a part of a request as options of the whole.
template <class Request, class Part>
[[nodiscard]] OptionTable<Request> options_of_part(Part Request::*part,
                                                   const OptionTable<Part>& options) {
  OptionTable<Request> out;
  for (const Option<Part>& option : options) {
    out.push_back({option.facts,
                   [part, set = option.set](Request& request, const std::string& text) {
                     set(request.*part, text);
                   },
                   [part, get = option.get](const Request& request) { return get(request.*part); },
                   {}});
    if (option.clear)
      out.back().clear = [part, clear = option.clear](Request& request) { clear(request.*part); };
  }
  return out;
}

template <class Request>
void append(OptionTable<Request>& table, OptionTable<Request> more) {
  for (Option<Request>& option : more) table.push_back(std::move(option));
}

/// The option of that name. It is there, or the caller is wrong.
template <class Request>
[[nodiscard]] const Option<Request>& option_named(const OptionTable<Request>& table,
                                                  const std::string& name) {
  for (const Option<Request>& option : table) {
    if (option.facts.name == name) return option;
  }
  throw std::logic_error("no option " + name);
}

/// Whether the value differs from the default.
template <class Request>
[[nodiscard]] bool is_given(const Option<Request>& option, const Request& request) {
  return option.get(request) != option.get(Request{});
}

/// Replaces what the request has. @param values  at least one; one alone unless
/// OptionFacts::takes_many().
template <class Request>
void set_all(const Option<Request>& option, Request& request,
             const std::vector<std::string>& values) {
  if (option.clear) option.clear(request);
  for (const std::string& value : values) option.set(request, value);
}

/// @throws UsageError where options are missing that are required or that others need.
template <class Request>
void check_complete(const OptionTable<Request>& table, const Request& request);

/// Its FITS card, with the value of the request.
template <class Request>
[[nodiscard]] files::Card card_of(const OptionTable<Request>& table, const std::string& name,
                                  const Request& request);

// What the templates above share.

/// The values in a recipe as the command line takes them: one, or those of a list.
[[nodiscard]] std::vector<std::string> option_texts(const nlohmann::json& value);

/// A value of a recipe as the command line takes it.
[[nodiscard]] std::string option_text(const nlohmann::json& value);

[[nodiscard]] files::Card card_with(const OptionFacts& facts, const nlohmann::json& value);

/// @param missing  the options that are not given.
void require_needs(const OptionFacts& facts, const std::vector<std::string>& missing);

/// @throws UsageError that names them all, if any.
void require_given(const std::vector<OptionFacts>& missing);

template <class Request>
void check_complete(const OptionTable<Request>& table, const Request& request) {
  std::vector<OptionFacts> absent;
  for (const Option<Request>& option : table) {
    if (option.facts.is_required() && !is_given(option, request)) absent.push_back(option.facts);
  }
  require_given(absent);
  for (const Option<Request>& option : table) {
    if (!is_given(option, request)) continue;
    std::vector<std::string> missing;
    for (const std::string& needed : option.facts.needs) {
      if (!is_given(option_named(table, needed), request)) missing.push_back(needed);
    }
    require_needs(option.facts, missing);
  }
}

template <class Request>
files::Card card_of(const OptionTable<Request>& table, const std::string& name,
                    const Request& request) {
  const Option<Request>& option = option_named(table, name);
  return card_with(option.facts, option.get(request));
}

}  // namespace lull::run
