#pragma once

#include <condition_variable>
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "capture/capture_info.h"
#include "capture/folder.h"
#include "desk/events.h"
#include "desk/problem.h"
#include "run/control.h"

namespace lull::desk {

/// A capture of the folder, and what its header and its first frames say.
struct ListedCapture {
  capture::FoundCapture found;
  bool growing = false;                        ///< changed a moment ago
  bool opened = false;                         ///< as it is now: a capture that grows is read again
  std::optional<capture::CaptureInfo> info{};  ///< none: not opened yet, or not readable
  std::optional<Problem> problem{};            ///< why it is not readable

  /// By the header, or by duration and rate; of a sequence the pictures; 0 = not known.
  [[nodiscard]] std::int64_t frames() const;
};

/// The captures of a folder, looked for and opened by a thread of its own, so that a disk that is
/// slow or gone holds up no page. The folder is looked through when a list is asked for, and every
/// two seconds while a page listens. Any thread.
class Catalogue {
 public:
  struct Place {
    std::string folder;
    std::string results;
  };

  struct List {
    std::vector<ListedCapture> captures;
    std::vector<Problem> problems;
    std::optional<Problem> folder_problem;  ///< the folder itself cannot be read
    bool complete = false;                  ///< all captures were opened
  };

  /// @param events  outlives this.
  Catalogue(Place place, run::Resources resources, Events& events);
  ~Catalogue();
  Catalogue(const Catalogue&) = delete;
  Catalogue& operator=(const Catalogue&) = delete;

  /// As known, after waiting for a moment for what is under way.
  [[nodiscard]] List list();

  /// @throws Problem 404: no capture of that id; 422: it cannot be read.
  [[nodiscard]] ListedCapture capture(const std::string& id);

  /// A page began to listen.
  void wake();

 private:
  void work();
  [[nodiscard]] bool look();
  [[nodiscard]] bool open_next();
  void merge(capture::FolderContent content);

  Place place_;
  run::Resources resources_;
  Events& events_;
  std::mutex guard_;
  std::condition_variable wanted_;
  std::condition_variable settled_;
  std::map<std::string, ListedCapture> captures_;  ///< by id
  std::vector<Problem> problems_;
  std::optional<Problem> folder_problem_;
  std::uint64_t asked_ = 1;  ///< looks asked for, and those done
  std::uint64_t looked_ = 0;
  bool ended_ = false;
  std::thread worker_;
};

/// What was found of a capture without an id of the folder, such as a file in an option.
/// @throws what opening it throws.
[[nodiscard]] capture::CaptureInfo info_of(const std::string& path,
                                           const run::Resources& resources);

}  // namespace lull::desk
