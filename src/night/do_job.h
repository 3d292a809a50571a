#pragma once

#include "night/night_folder.h"
#include "night/night_job.h"
#include "night/record.h"
#include "run/control.h"

namespace lull::night {

/// How a job went.
enum class Fate {
  made,
  there_already,
  failed,
  skipped,  ///< not tried: something that it needs failed, or it is a copy
};

struct JobResult {
  Fate fate = Fate::made;
  Record record;
};

/// Makes a picture, and the masters and the parts that it needs, with a record and a log of each,
/// unless all is there. A part that failed is not tried again here: its own job does that. A job
/// that another process has at work is waited for. What fails is recorded.
/// @throws Interrupted; OutputError where not even the record can be written.
[[nodiscard]] JobResult do_job(const NightJob& job, const NightFolder& place,
                               const run::RunControl& control, const CancelToken& cancel);

}  // namespace lull::night
