#pragma once

#include <set>
#include <string>
#include <vector>

#include "night/facts.h"
#include "profile/profile.h"

namespace lull::night {

/// Darks or flats that are combined once.
struct Master {
  std::string name{};  ///< "dark_10ms_gain300"
  Kind kind = Kind::dark;
  std::vector<std::string> captures{};  ///< paths
  std::string flat_dark{};              ///< name of the master that is subtracted; empty: none
  std::vector<std::string> why{};
};

/// One picture to be made.
struct Picture {
  std::string name{};  ///< of its results, with the folders below
  std::vector<std::string> captures{};
  std::string copy_of{};  ///< a capture: if it has the same bytes, nothing is made; empty: none
  std::string dark{};     ///< name of a master; empty: none
  std::string flat{};
  std::string object{};  ///< a word of --object; empty: not known
  std::string filter{};
  std::vector<profile::OptionSetting> options{};
  std::vector<std::string> why{};
  double cost_bytes = 0;  ///< of the captures: the largest begin first
  double need_bytes = 0;  ///< memory; 0: not known
};

/// One picture in colour, of the linear stacks of others.
struct Merge {
  std::string name{};
  std::string red{};  ///< names of pictures
  std::string green{};
  std::string blue{};
  std::string luminance{};  ///< empty: none
  std::string object{};
  std::vector<profile::OptionSetting> options{};
  std::vector<std::string> why{};

  /// Red, green, blue, and luminance where there is one.
  [[nodiscard]] std::vector<std::string> parts() const;
};

/// A capture of which no picture is made, or one whose name is not told twice.
struct LeftOut {
  std::string capture{};
  std::string why{};
  bool is_problem = false;  ///< it counts as a failure

  /// "a.ser: why"; most messages name the capture themselves.
  [[nodiscard]] std::string text() const {
    return why.starts_with(capture) ? why : capture + ": " + why;
  }
};

/// Captures that belong together beyond one picture.
struct Set {
  std::string kind{};  ///< "colours", "repeats", "panels"
  std::vector<std::string> pictures{};
  std::string why{};
};

/// What a night does.
struct Plan {
  std::string folder{};   ///< of the captures
  std::string profile{};  ///< file; empty: none
  std::vector<Master> masters{};
  std::vector<Picture> pictures{};
  std::vector<Merge> merges{};
  std::vector<LeftOut> left_out{};
  std::vector<Set> sets{};
  std::vector<std::string> notes{};  ///< what a user should know besides

  /// Null: none of that name.
  [[nodiscard]] const Master* master(const std::string& name) const;

  /// Of all that is made.
  [[nodiscard]] std::set<std::string> names() const;
};

/// What becomes of captures of the same target, filter and panel.
enum class Join { none, repeats };

/// What becomes of captures of one target through R, G and B.
enum class Merging { none, colours };

/// Finds out what belongs together. The same plan for the same facts in any order.
/// @param calibration  captures of folders that the profile names for darks and flats.
[[nodiscard]] Plan make_plan(std::vector<Facts> captures, const std::vector<Facts>& calibration,
                             Join join, Merging merging = Merging::colours);

}  // namespace lull::night
