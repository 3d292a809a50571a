#pragma once

#include <filesystem>
#include <functional>
#include <list>
#include <string>
#include <vector>

#include "files/atomic_file.h"

namespace lull::files {

/// The files of one run. They appear under their names together, by commit(), so that a run that
/// fails at its second file does not leave the first beside the results of an earlier run. Without
/// commit(), also when an exception passes, nothing is left and earlier results stay. One thread.
class Results {
 public:
  using Write = std::function<void(const std::filesystem::path& path)>;

  /// What `write` goes by when it chooses a format.
  enum class Format { of_writer, of_name };

  /// Calls `write` with a temporary name in the folder of `target`; with Format::of_name it has the
  /// extension of `target`.
  /// @throws OutputError naming `target`, and everything that `write` throws.
  void add(const std::string& target, const Write& write, Format format = Format::of_writer);

  /// The names under which files will appear.
  [[nodiscard]] const std::vector<std::string>& targets() const { return targets_; }

  /// @throws OutputError
  void commit();

 private:
  std::list<AtomicFile> files_;
  std::vector<std::string> targets_;
};

}  // namespace lull::files
