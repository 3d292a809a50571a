#pragma once

#include <filesystem>
#include <mutex>
#include <vector>

#include "desk/job.h"

namespace lull::desk {

/// The jobs of a desk that have not ended, in a small file beside the results: should the desk be
/// killed, the next one lists them. Each desk has a file of its own. Any thread.
class JobRecord {
 public:
  explicit JobRecord(std::filesystem::path folder);

  /// Jobs that desks which are gone left behind, oldest first. Their files are removed; what they
  /// say goes on in this record.
  [[nodiscard]] std::vector<Job> take_over();

  /// After each change but progress. Without jobs, or without the folder, there is no file. What
  /// cannot be written is passed over: the jobs themselves go on.
  void write(const std::vector<Job>& jobs);

  /// From here on nothing is written, so that jobs which the end of the desk cancels stay listed.
  void close();

 private:
  std::filesystem::path folder_;
  std::filesystem::path file_;
  std::mutex guard_;
  bool closed_ = false;
};

/// The jobs in the text of a record; none where it is damaged. Only what JobFacts holds, and when
/// they were created.
[[nodiscard]] std::vector<Job> jobs_in_record(const std::string& text);

}  // namespace lull::desk
