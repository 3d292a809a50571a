#pragma once

#include <string>
#include <vector>

#include "globe/derotate.h"
#include "run/derotate_request.h"
#include "run/finish_input.h"
#include "run/globe_sight.h"

namespace lull::run {

/// A linear stack of a planet, read, with its moment and its limb.
struct GlobeStack {
  std::string path;
  FinishInput input;
  GlobeSight sight;
  double noise = 1;           ///< over the brightness
  bool turned_about = false;  ///< by 180 degrees against the earliest stack
};

/// By the header. @throws InputError: it states no date.
[[nodiscard]] Utc moment_of_stack(const std::string& path, const std::vector<files::Card>& cards);

/// The planet that is derotated: by --object, or by the headers.
/// @throws UsageError: it is not stated, or it is none whose globe is turned.
[[nodiscard]] sky::Body derotated_body(const DerotateRequest& request,
                                       const std::vector<FinishInput>& inputs);

/// @param turning  with north. @param turned_about  it lies by 180 degrees off that.
/// @throws InputError: no date; and as globe_sight().
[[nodiscard]] GlobeStack globe_stack(const std::string& path, FinishInput input, sky::Body body,
                                     Turning turning, bool turned_about);

/// Its channels, then their noise, as views into the stack.
/// @param moment  from which later_s is counted. @param brightness  of the globe, to which it is
/// brought.
[[nodiscard]] globe::GlobePicture globe_picture(const GlobeStack& stack, Utc moment,
                                                double brightness);

}  // namespace lull::run
