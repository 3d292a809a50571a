#pragma once

#include <string>
#include <vector>

#include "globe/limb_fit.h"
#include "run/derotate_request.h"
#include "run/finish_input.h"
#include "sky/body.h"

namespace lull::run {

/// A linear stack of a planet, read, with its moment and its limb.
struct GlobeStack {
  std::string path;
  FinishInput input;
  Utc moment;
  sky::Aspect aspect{};
  globe::GlobeShape shape{};
  globe::LimbFit limb{};
  double noise = 1;  ///< over the brightness
};

/// The planet that is derotated: by --object, or by the headers.
/// @throws UsageError: it is not stated, or it is none whose globe is turned.
[[nodiscard]] sky::Body derotated_body(const DerotateRequest& request,
                                       const std::vector<FinishInput>& inputs);

/// @throws InputError: no date, a size that contradicts the date, a disc that is cut.
/// @throws NothingUsable: no limb is found.
[[nodiscard]] GlobeStack globe_stack(const std::string& path, FinishInput input, sky::Body body,
                                     const DerotateRequest& request);

}  // namespace lull::run
