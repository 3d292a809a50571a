#pragma once

#include <mutex>
#include <string>

#include "cli/progress_line.h"
#include "core/progress.h"
#include "night/crew.h"

namespace lull::cli {

/// Shows how a night goes on, on standard error. On a terminal: a line for all, with the time left,
/// and one for each picture at work, renewed in place, above which a line stays for each that
/// ended. Elsewhere: a line for each that ended. For programs: one JSON object a line.
class NightScreen {
 public:
  explicit NightScreen(ProgressStyle style);
  ~NightScreen();
  NightScreen(const NightScreen&) = delete;
  NightScreen& operator=(const NightScreen&) = delete;

  /// Valid as long as the screen.
  [[nodiscard]] night::NightWatcher watcher();

  /// Of looking through the folder.
  [[nodiscard]] Progress progress(const CancelToken& cancel);

 private:
  void show(const night::NightProgress& progress);
  void end(const night::JobResult& result, const night::NightProgress& progress);
  void look(std::int64_t done, std::int64_t total);
  void erase();
  void write_block(const std::vector<std::string>& lines);

  std::mutex guard_;
  ProgressStyle style_;
  bool terminal_;
  std::size_t lines_ = 0;  ///< of the block that is renewed
};

/// The block: the line for all, then those at work. @param columns  of the terminal.
[[nodiscard]] std::vector<std::string> night_block(const night::NightProgress& progress,
                                                   std::size_t columns);

}  // namespace lull::cli
