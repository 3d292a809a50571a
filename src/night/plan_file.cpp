#include "night/plan_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "core/words.h"
#include "files/name_text.h"
#include "files/table_reader.h"
#include "run/merge_request.h"
#include "run/recipe_options.h"
#include "run/stack_request.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using files::TableReader;
using files::toml_text;
using files::TomlValue;

// Names of files as recipes hold them, since TOML is UTF-8.
std::string name_value(const std::string& name) { return toml_text(files::name_text(name)); }

std::string list_of(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name_value(name);
  return "[" + text + "]";
}

// A comment must stay one, whatever a name holds.
std::string comment(const std::string& text) {
  std::string line = files::utf8_text(text);
  for (char& c : line) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = '?';
  }
  return "# " + line + "\n";
}

std::string summary(const Plan& plan) {
  const auto count = [](const auto& list, const char* what) {
    return counted(static_cast<std::int64_t>(list.size()), what);
  };
  return fmt::format("lull night: {} of {}, {} in colour of these, {}, {} left out",
                     count(plan.pictures, "picture"), plan.folder, plan.merges.size(),
                     count(plan.masters, "master"), plan.left_out.size());
}

std::string master_text(const Master& master) {
  std::string text = "\n[[master]]\n";
  for (const std::string& why : master.why) text += comment(why);
  text += fmt::format("name = {}\nkind = \"{}\"\ncaptures = {}\n", name_value(master.name),
                      kind_name(master.kind), list_of(master.captures));
  if (!master.flat_dark.empty())
    text += fmt::format("flat_dark = {}\n", name_value(master.flat_dark));
  return text;
}

std::string picture_text(const Picture& picture) {
  std::string text = "\n[[picture]]\n";
  for (const std::string& why : picture.why) text += comment(why);
  text += fmt::format("name = {}\ncaptures = {}\n", name_value(picture.name),
                      list_of(picture.captures));
  const auto add = [&](const char* key, const std::string& value) {
    if (!value.empty()) text += fmt::format("{} = {}\n", key, name_value(value));
  };
  add("copy_of", picture.copy_of);
  add("dark", picture.dark);
  add("flat", picture.flat);
  add("object", picture.object);
  add("filter", picture.filter);
  return text;
}

// The keys of the parts of a merge, with their places.
constexpr std::array<std::pair<const char*, std::string Merge::*>, 4> kParts = {
    {{"red", &Merge::red},
     {"green", &Merge::green},
     {"blue", &Merge::blue},
     {"luminance", &Merge::luminance}}};

std::string merge_text(const Merge& merge) {
  std::string text = "\n[[merge]]\n";
  for (const std::string& why : merge.why) text += comment(why);
  text += fmt::format("name = {}\n", name_value(merge.name));
  for (const auto& [key, part] : kParts) {
    if (!(merge.*part).empty()) text += fmt::format("{} = {}\n", key, name_value(merge.*part));
  }
  if (!merge.object.empty()) text += fmt::format("object = {}\n", name_value(merge.object));
  return text;
}

/// A plan that was written, strictly read.
class Reading {
 public:
  explicit Reading(const std::string& path)
      : path_(path),
        root_(files::read_toml(path)),
        read_(root_, path, "", {"folder", "profile", "master", "picture", "merge"}) {}

  Plan plan() const {
    Plan out;
    out.folder = name(read_.text("folder"));
    out.profile = name(read_.text("profile"));
    for (const TomlValue* table : read_.tables("master"))
      out.masters.push_back(master(*table, out));
    std::set<std::string> names;
    for (const TomlValue* table : read_.tables("picture")) {
      out.pictures.push_back(picture(*table, out));
      if (!names.insert(out.pictures.back().name).second)
        throw read_.error(table->line, "two pictures have the name " + out.pictures.back().name);
    }
    for (const TomlValue* table : read_.tables("merge")) {
      out.merges.push_back(merge(*table, out));
      if (!names.insert(out.merges.back().name).second)
        throw read_.error(table->line, "two pictures have the name " + out.merges.back().name);
    }
    return out;
  }

 private:
  static std::string name(const std::string& text) { return files::name_of_text(text); }

  static std::vector<std::string> captures(const TableReader& read, int line) {
    std::vector<std::string> out;
    for (const TomlValue& one : read.texts("captures")) out.push_back(name(one.text));
    if (out.empty()) throw read.error(line, "'captures' is missing");
    return out;
  }

  Master master(const TomlValue& table, const Plan& before) const {
    const TableReader read(table, path_, "[[master]]", {"name", "kind", "captures", "flat_dark"});
    Master out;
    out.name = result_name(read, table, "a master");
    const std::string kind = read.required_text("kind");
    if (kind != "dark" && kind != "flat")
      throw read.error(table.line, fmt::format("kind = \"{}\": dark or flat is possible", kind));
    out.kind = kind == "dark" ? Kind::dark : Kind::flat;
    out.captures = captures(read, table.line);
    out.flat_dark = known_master(read, table, "flat_dark", before);
    return out;
  }

  // A result may not lead out of its folder.
  static std::string result_name(const TableReader& read, const TomlValue& table,
                                 const std::string& what) {
    std::string out = name(read.required_text("name"));
    const fs::path path(out);
    const bool leads_out =
        path.is_absolute() ||
        std::any_of(path.begin(), path.end(), [](auto& one) { return one == ".." || one == "."; });
    if (leads_out || out.ends_with('/'))
      throw read.error(table.line, fmt::format("'{}' is no name of {}", out, what));
    return out;
  }

  static std::string known_master(const TableReader& read, const TomlValue& table, const char* key,
                                  const Plan& plan) {
    std::string out = name(read.text(key));
    if (!out.empty() && plan.master(out) == nullptr)
      throw read.error(table.find(key)->line,
                       fmt::format("{}: there is no [[master]] '{}' above", key, out));
    return out;
  }

  Picture picture(const TomlValue& table, const Plan& plan) const {
    const TableReader read(
        table, path_, "[[picture]]",
        {"name", "captures", "copy_of", "dark", "flat", "object", "filter", "options"});
    Picture out;
    out.name = result_name(read, table, "a picture");
    out.captures = captures(read, table.line);
    out.copy_of = name(read.text("copy_of"));
    out.dark = known_master(read, table, "dark", plan);
    out.flat = known_master(read, table, "flat", plan);
    out.object = read.text("object");
    out.filter = name(read.text("filter"));
    check_option(read, table.line, run::stack_options(), "--object", out.object);
    check_option(read, table.line, run::stack_options(), "--filter", out.filter);
    out.options = options_in(read, run::stack_options());
    for (const std::string& capture : out.captures) {
      std::error_code error;
      const std::uintmax_t bytes = fs::file_size(capture, error);
      if (!error && out.copy_of.empty()) out.cost_bytes += static_cast<double>(bytes);
    }
    return out;
  }

  Merge merge(const TomlValue& table, const Plan& plan) const {
    const TableReader read(table, path_, "[[merge]]",
                           {"name", "red", "green", "blue", "luminance", "object", "options"});
    Merge out;
    out.name = result_name(read, table, "a picture");
    for (const auto& [key, part] : kParts) {
      const bool is_optional = part == &Merge::luminance;
      out.*part = name(is_optional ? read.text(key) : read.required_text(key));
      const bool is_known =
          std::any_of(plan.pictures.begin(), plan.pictures.end(),
                      [&, place = part](const Picture& one) { return one.name == out.*place; });
      if (!(out.*part).empty() && !is_known)
        throw read.error(table.find(key)->line,
                         fmt::format("{}: there is no [[picture]] '{}'", key, out.*part));
    }
    out.object = read.text("object");
    check_option(read, table.line, run::merge_options(), "--object", out.object);
    out.options = options_in(read, run::merge_options());
    return out;
  }

  template <class Request>
  static void check_option(const TableReader& read, int line,
                           const run::OptionTable<Request>& known, const std::string& option,
                           const std::string& value) {
    if (value.empty()) return;
    try {
      Request scratch;
      run::option_named(known, option).set(scratch, value);
    } catch (const UsageError& error) {
      throw read.error(line, error.what());
    }
  }

  template <class Request>
  static std::vector<profile::OptionSetting> options_in(const TableReader& read,
                                                        const run::OptionTable<Request>& known) {
    std::vector<profile::OptionSetting> out;
    const TomlValue* options = read.table("options");
    if (options == nullptr) return out;
    out.reserve(options->inner.size());
    for (const TomlValue& value : options->inner) {
      const std::string name = "--" + value.key;
      const bool is_known = std::any_of(known.begin(), known.end(), [&](const auto& one) {
        return one.facts.name == name && one.facts.in_recipe != run::InRecipe::no;
      });
      const bool is_part = std::any_of(kParts.begin(), kParts.end(),
                                       [&](const auto& one) { return one.first == value.key; });
      if (!is_known || is_part)
        throw read.error(value.line, fmt::format("unknown option '{}'", value.key));
      if (value.kind == TomlValue::Kind::table || value.kind == TomlValue::Kind::list)
        throw read.error(value.line, fmt::format("'{}': this is no value of an option", value.key));
      check_option(read, value.line, known, name, value.text);
      out.push_back({name, {value.text}, value.line});
    }
    return out;
  }

  std::string path_;
  TomlValue root_;
  TableReader read_;
};

nlohmann::json left_out_json(const LeftOut& one) {
  return {{"capture", files::name_text(one.capture)},
          {"why", files::utf8_text(one.why)},
          {"problem", one.is_problem}};
}

}  // namespace

std::string plan_text(const Plan& plan) {
  std::string text = comment(summary(plan));
  text += "# Edit it, and run it: lull night THIS_FILE -o RESULTS\n\n";
  const bool has_sun = std::any_of(plan.pictures.begin(), plan.pictures.end(),
                                   [](const Picture& one) { return one.object == "sun"; });
  if (has_sun) text += comment(run::sun_caution(run::Object::sun, {}, health::Kind::field));
  text += fmt::format("folder = {}\n", name_value(plan.folder));
  if (!plan.profile.empty()) text += fmt::format("profile = {}\n", name_value(plan.profile));
  for (const std::string& note : plan.notes) text += comment(note);
  for (const Master& master : plan.masters) {
    if (master.kind == Kind::dark) text += master_text(master);
  }
  for (const Master& master : plan.masters) {
    if (master.kind == Kind::flat) text += master_text(master);
  }
  for (const Picture& picture : plan.pictures) text += picture_text(picture);
  for (const Merge& merge : plan.merges) text += merge_text(merge);
  if (!plan.sets.empty()) text += "\n# What belongs together:\n";
  for (const Set& set : plan.sets)
    text += comment(fmt::format("{} ({}): {}", set.kind, set.why, fmt::join(set.pictures, ", ")));
  if (!plan.left_out.empty()) text += "\n# Left out:\n";
  for (const LeftOut& one : plan.left_out) text += comment(one.text());
  return text;
}

nlohmann::json to_json(const Plan& plan) {
  using nlohmann::json;
  json masters = json::array();
  for (const Master& one : plan.masters) {
    masters.push_back({{"name", files::name_text(one.name)},
                       {"kind", kind_name(one.kind)},
                       {"captures", files::name_texts(one.captures)},
                       {"flat_dark", files::name_text(one.flat_dark)},
                       {"why", one.why}});
  }
  json pictures = json::array();
  for (const Picture& one : plan.pictures) {
    pictures.push_back({{"name", files::name_text(one.name)},
                        {"captures", files::name_texts(one.captures)},
                        {"copy_of", files::name_text(one.copy_of)},
                        {"dark", files::name_text(one.dark)},
                        {"flat", files::name_text(one.flat)},
                        {"object", one.object},
                        {"filter", files::name_text(one.filter)},
                        {"why", one.why}});
  }
  json merges = json::array();
  for (const Merge& one : plan.merges) {
    json merge = {{"name", files::name_text(one.name)}, {"object", one.object}, {"why", one.why}};
    for (const auto& [key, part] : kParts) merge[key] = files::name_text(one.*part);
    merges.push_back(std::move(merge));
  }
  json left_out = json::array();
  for (const LeftOut& one : plan.left_out) left_out.push_back(left_out_json(one));
  json sets = json::array();
  for (const Set& one : plan.sets)
    sets.push_back({{"kind", one.kind},
                    {"pictures", files::name_texts(one.pictures)},
                    {"why", files::utf8_text(one.why)}});
  return {{"folder", files::name_text(plan.folder)},
          {"profile", files::name_text(plan.profile)},
          {"masters", masters},
          {"pictures", pictures},
          {"merges", merges},
          {"left_out", left_out},
          {"sets", sets},
          {"notes", files::name_texts(plan.notes)}};
}

Plan read_plan(const std::string& path) { return Reading(path).plan(); }

}  // namespace lull::night
