#pragma once

#include <string>
#include <vector>

#include "run/derotate_request.h"
#include "run/finish_input.h"
#include "run/globe_sight.h"

namespace lull::run {

/// A linear stack of a planet, read, with its moment and its limb.
struct GlobeStack {
  std::string path;
  FinishInput input;
  GlobeSight sight;
  double noise = 1;  ///< over the brightness
};

/// The planet that is derotated: by --object, or by the headers.
/// @throws UsageError: it is not stated, or it is none whose globe is turned.
[[nodiscard]] sky::Body derotated_body(const DerotateRequest& request,
                                       const std::vector<FinishInput>& inputs);

/// @throws InputError: no date; and as globe_sight().
[[nodiscard]] GlobeStack globe_stack(const std::string& path, FinishInput input, sky::Body body,
                                     const DerotateRequest& request);

}  // namespace lull::run
