#pragma once

#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/choices.h"
#include "run/option.h"

namespace lull::run {

/// A number that is the whole text; none where it is anything else, or not finite.
[[nodiscard]] std::optional<double> number_in(const std::string& text);

/// So many numbers, separated by commas; none where it is anything else.
template <std::size_t count>
[[nodiscard]] std::optional<std::array<double, count>> numbers_in(const std::string& text) {
  std::array<double, count> out{};
  const char* at = text.data();
  const char* const end = at + text.size();
  for (std::size_t i = 0; i < count; ++i) {
    if (i > 0 && (at == end || *at++ != ',')) return std::nullopt;
    const auto [stop, error] = std::from_chars(at, end, out[i]);
    if (error != std::errc() || !std::isfinite(out[i])) return std::nullopt;
    at = stop;
  }
  if (at != end) return std::nullopt;
  return out;
}

/// @throws UsageError that names the option, the value and the range.
[[nodiscard]] double number_within(const std::string& option, const std::string& text,
                                   const NumberRange& range);

/// @throws UsageError likewise.
[[nodiscard]] std::int64_t whole_number_within(const std::string& option, const std::string& text,
                                               std::int64_t low, std::int64_t high);

/// @throws UsageError for an empty name.
[[nodiscard]] std::string file_name(const std::string& option, const std::string& text);

/// The values of an enumeration, with the words for them.
template <class Value>
using Words = std::vector<std::pair<Value, std::string>>;

template <class Value>
[[nodiscard]] Value value_of_word(const std::string& option, const std::string& text,
                                  const Words<Value>& words) {
  std::vector<std::string> known;
  for (const auto& [value, word] : words) {
    if (word == text) return value;
    known.push_back(word);
  }
  throw invalid_choice(option, text, known);
}

template <class Value>
[[nodiscard]] std::string word_of_value(const Value& value, const Words<Value>& words) {
  for (const auto& [known, word] : words) {
    if (known == value) return word;
  }
  return {};
}

// The kinds of options, each bound to the member of a request that holds its value.

/// One of some words.
template <class Request, class Value>
[[nodiscard]] Option<Request> word_option(OptionFacts facts, Value Request::*member,
                                          Words<Value> words) {
  const std::string name = facts.name;
  facts.kind = OptionKind::choice;
  for (const auto& [value, word] : words) facts.choices.push_back(word);
  return {std::move(facts),
          [=](Request& request, const std::string& text) {
            request.*member = value_of_word(name, text, words);
          },
          [=](const Request& request) { return word_of_value(request.*member, words); }};
}

/// The name of a file or folder.
template <class Request>
[[nodiscard]] Option<Request> file_option(OptionFacts facts, std::string Request::*member) {
  const std::string name = facts.name;
  facts.kind = OptionKind::file;
  return {
      std::move(facts),
      [=](Request& request, const std::string& text) { request.*member = file_name(name, text); },
      [=](const Request& request) { return request.*member; }};
}

/// Names as recipes and JSON hold them: a text, or a list where there are several.
[[nodiscard]] nlohmann::json names_json(const std::vector<std::string>& names);

/// Names of several files, as often as OptionFacts::presence says.
template <class Request>
[[nodiscard]] Option<Request> files_option(const OptionFacts& facts,
                                           std::vector<std::string> Request::*member) {
  const std::string name = facts.name;
  Option<Request> option;
  option.facts = facts;
  option.set = [=](Request& request, const std::string& text) {
    (request.*member).push_back(file_name(name, text));
  };
  option.get = [=](const Request& request) { return names_json(request.*member); };
  option.clear = [=](Request& request) { (request.*member).clear(); };
  return option;
}

/// Any text.
template <class Request>
[[nodiscard]] Option<Request> text_option(OptionFacts facts, std::string Request::*member) {
  return {std::move(facts),
          [=](Request& request, const std::string& text) { request.*member = text; },
          [=](const Request& request) { return request.*member; }};
}

/// A number within a range.
template <class Request>
[[nodiscard]] Option<Request> number_option(OptionFacts facts, double Request::*member,
                                            const NumberRange& range) {
  const std::string name = facts.name;
  facts.kind = OptionKind::number;
  facts.bounds = range;
  return {std::move(facts),
          [=](Request& request, const std::string& text) {
            request.*member = number_within(name, text, range);
          },
          [=](const Request& request) { return request.*member; }};
}

/// On or off.
template <class Request, class Value>
[[nodiscard]] Option<Request> switch_option(OptionFacts facts, Value Request::*member, Value off,
                                            Value on) {
  const std::string name = facts.name;
  facts.kind = OptionKind::on_off;
  return {std::move(facts),
          [=](Request& request, const std::string& text) {
            request.*member = value_of_word<Value>(name, text, {{on, "true"}, {off, "false"}});
          },
          [=](const Request& request) { return request.*member == on; }};
}

/// Anything else that is written as a text.
/// @param parse  Value(const std::string& text), throws UsageError.
/// @param print  std::string(const Value&) that `parse` reads back.
template <class Request, class Value, class Parse, class Print>
[[nodiscard]] Option<Request> parsed_option(OptionFacts facts, Value Request::*member, Parse parse,
                                            Print print) {
  return {std::move(facts),
          [=](Request& request, const std::string& text) { request.*member = parse(text); },
          [=](const Request& request) { return print(request.*member); }};
}

}  // namespace lull::run
