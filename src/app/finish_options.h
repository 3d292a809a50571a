#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/white_balance_choice.h"
#include "files/metadata.h"
#include "finish/restore.h"
#include "finish/tone.h"

namespace CLI {  // NOLINT(readability-identifier-naming): not ours
class App;
}

namespace lull::app {

/// How detail and colour are to be brought out: the same of `stack` and `finish`.
struct FinishOptions {
  std::string detail = "auto";  ///< auto, none or a curve such as 1.5:2.0,3:1.6,8:1.1
  double blur_px = 0;           ///< full width at half maximum of a Gaussian to undo, 0 = none
  double restraint = 1;
  std::string white_balance = "none";
  bool flatten_limb = false;
  double saturation = 1;
  std::string tone = "linear";  ///< linear, gamma or asinh
  std::string black = "auto";   ///< auto = 0, or light
  std::string share;            ///< file for a copy of 8 bits, empty = none
  std::string caption;          ///< under that copy: auto or a text, empty = none
  bool scale_bar = false;       ///< likewise
  std::string white = "auto";   ///< auto = what holds the brightest sample, or light
};

/// The same, understood.
struct FinishPlan {
  finish::DetailPlan detail;
  WhiteBalanceChoice white_balance;
  bool flatten_limb = false;
  double saturation = 1;
  finish::Tone tone = finish::Tone::linear;
  std::optional<double> black;
  std::optional<double> white;
};

/// Declares the options of a command. @return their names, with dashes.
std::vector<std::string> add_finish_options(CLI::App& command, FinishOptions& options);

/// Points of a curve of gain over feature size, such as "1.5:2.0,3:1.6,8:1.1".
/// @throws UsageError: no such list, sizes that do not rise, sizes or gains out of range.
[[nodiscard]] finish::DetailCurve parse_detail_curve(const std::string& text);

/// @throws UsageError
[[nodiscard]] FinishPlan plan_of(const FinishOptions& options);

/// Whether the picture differs from the linear stack in more than its scale.
[[nodiscard]] bool changes_light(const FinishOptions& options);

/// For the recipe.
[[nodiscard]] nlohmann::json to_json(const FinishOptions& options);

/// From a recipe; what an earlier version of it does not name stays as it is.
/// @throws nlohmann::json::exception for values of the wrong kind.
void read_json(const nlohmann::json& from, FinishOptions& options);

/// @throws UsageError when colours are to be changed and the picture, of that name, has none.
void check_colours(const FinishOptions& options, bool has_colour, const std::string& name);

/// What was done, for the header of the picture.
[[nodiscard]] std::vector<files::Card> finish_cards(const FinishOptions& options);

}  // namespace lull::app
