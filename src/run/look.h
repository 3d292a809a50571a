#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "files/metadata.h"
#include "finish/channel_offsets.h"
#include "finish/pose.h"
#include "finish/restore.h"
#include "finish/tone.h"
#include "run/option.h"
#include "run/white_balance.h"

namespace lull::run {

/// Detail is restored as far as the stack allows.
struct RestoreDetail {
  friend bool operator==(RestoreDetail, RestoreDetail) = default;
};

/// Detail stays as it is.
struct LeaveDetail {
  friend bool operator==(LeaveDetail, LeaveDetail) = default;
};

/// What --detail asks for; points make a curve of gain over feature size.
using DetailChoice = std::variant<RestoreDetail, LeaveDetail, std::vector<finish::DetailPoint>>;

/// Whether the fall of light towards the edge of a globe stays.
enum class LimbLight { kept, flattened };

/// What is drawn beside the caption.
enum class ScaleBarChoice { none, drawn };

/// How detail, colour and brightness are rendered: the same for `stack` and `finish`.
struct Look {
  DetailChoice detail;
  double blur_px = 0;  ///< full width at half maximum of a Gaussian to undo, 0 = none
  double restraint = 1;
  WhiteBalanceChoice white_balance = WhiteBalanceRule::automatic;
  Object object = Object::unspecified;  ///< what the picture shows
  double saturation = 1;
  finish::ChannelOffsets channel_offsets;
  LimbLight limb = LimbLight::kept;
  finish::Tone tone = finish::Tone::linear;
  std::optional<double> black;  ///< light; none = the sky, see finish::levels_of()
  std::optional<double> white;  ///< light; none = the bright parts of the object
  finish::Pose pose;            ///< of the files that are written
  std::string share;            ///< file for a copy of 8 bits, empty = none
  std::string caption;          ///< under that copy: auto or a text, empty = none
  ScaleBarChoice scale_bar = ScaleBarChoice::none;  ///< likewise

  [[nodiscard]] bool leaves_detail() const { return std::holds_alternative<LeaveDetail>(detail); }

  /// Whether the picture, in colour or not, differs from the linear stack in more than its scale.
  [[nodiscard]] bool changes_picture(bool has_colour = true) const;
};

/// The options of a look. Each is a row here and the code that uses it, nothing else.
[[nodiscard]] const OptionTable<Look>& look_options();

/// Points of a curve of gain over feature size, such as "1.5:2.0,3:1.6,8:1.1".
/// @throws UsageError: no such list, sizes that do not rise, sizes or gains out of range.
[[nodiscard]] std::vector<finish::DetailPoint> parse_detail_points(const std::string& text);

/// What is to be done to the detail.
[[nodiscard]] finish::DetailPlan detail_plan(const Look& look);

/// @throws UsageError for options that contradict each other.
void check_look(const Look& look);

/// @throws UsageError when colours are to be changed and the picture, of that name, has none.
/// @param channels  of the picture: 1 or 3.
void check_colours(const Look& look, std::size_t channels, const std::string& name);

/// What was done, for the header of the picture.
[[nodiscard]] std::vector<files::Card> look_cards(const Look& look);

}  // namespace lull::run
