#pragma once

#include <set>
#include <string>
#include <vector>

#include "run/merge_request.h"
#include "run/stack_request.h"

namespace lull::night {

/// An option that makes no sense for a picture.
struct Unsuited {
  std::string picture;
  std::string option;  ///< with its value: "--saturation 1.3"
  std::string why;     ///< what kind of picture it is: "without colours"
};

/// Options of all pictures that one of them cannot have go back to their defaults there: those of
/// colours where its capture has none, a mosaic or a layout that its file contradicts, derotation
/// of what does not turn. Opens the first capture, unless none of them is given. What cannot be
/// opened stays as it is: its run reports why.
/// @param kept  names of options that were given for this picture alone.
/// @return what was left out, without the name of the picture.
std::vector<Unsuited> leave_unsuited(run::StackRequest& request, const std::set<std::string>& kept);
std::vector<Unsuited> leave_unsuited(run::MergeRequest& request, const std::set<std::string>& kept);

/// Each option once, with the pictures that it does not count for.
[[nodiscard]] std::vector<std::string> notes_of(const std::vector<Unsuited>& all);

}  // namespace lull::night
