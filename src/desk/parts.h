#pragma once

#include <atomic>
#include <chrono>
#include <memory>
#include <semaphore>
#include <string>

#include "desk/catalogue.h"
#include "desk/desk_request.h"
#include "desk/events.h"
#include "desk/frame_reader.h"
#include "desk/growing_stack.h"
#include "desk/instruments.h"
#include "desk/job_queue.h"
#include "desk/job_record.h"
#include "desk/previews.h"
#include "desk/pyramids.h"
#include "desk/result_index.h"
#include "desk/surveys.h"
#include "run/control.h"

namespace lull::desk {

/// Pictures are large, so only so many are made at a time. Any thread.
class PictureLimit {
 public:
  static constexpr int kMost = 4;

  /// A place among them, while it lives.
  class Place {
   public:
    /// Waits for a place. @throws Problem 503 when none gets free.
    explicit Place(PictureLimit& limit) : limit_(limit) {
      if (!limit.free_.try_acquire_for(std::chrono::seconds(20)))
        throw Problem(503, "too many pictures are asked for at once", "try again in a moment");
    }

    ~Place() { limit_.free_.release(); }

    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;

   private:
    PictureLimit& limit_;
  };

 private:
  std::counting_semaphore<kMost> free_{kMost};
};

/// What the routes of one desk share. Each part takes care of its own threads.
struct Parts {
  Parts(DeskRequest wanted, const run::Resources& machine);

  DeskRequest request;
  run::Resources resources;
  Instruments instruments;
  Events events;
  Catalogue catalogue;
  FrameReader frames;
  Surveys surveys;
  PictureLimit pictures;
  GrowingStack growing{[this] { return events.has_listeners(); }};
  ResultIndex results;
  Previews previews;
  Pyramids pyramids;
  JobRecord record;
  std::atomic<bool> sun_caution_seen{false};
  JobQueue jobs;  ///< the last: its jobs use the others
};

}  // namespace lull::desk
