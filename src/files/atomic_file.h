#pragma once

#include <cstddef>
#include <filesystem>
#include <list>
#include <span>
#include <string_view>

#include "core/error.h"

namespace lull::files {

/// A result that appears under its name only when it is complete. It is written to a temporary
/// name in the same folder and renamed by commit(); without commit(), also when an exception
/// passes, the temporary is removed and an earlier result of that name stays as it was.
/// A target that is a symbolic link is written where the link points to; an existing target keeps
/// its permissions. One thread at a time for one object.
class AtomicFile {
 public:
  /// @throws OutputError when the target cannot be written: missing folder, no permission, a
  ///         folder or a device of that name, a name that is too long.
  explicit AtomicFile(const std::filesystem::path& target);
  ~AtomicFile();
  AtomicFile(const AtomicFile&) = delete;
  AtomicFile& operator=(const AtomicFile&) = delete;

  /// Appends. @throws OutputError (disk full, ...).
  void write(std::span<const std::byte> bytes);
  void write(std::string_view text);

  /// Open for reading and writing, for libraries that write to a descriptor. Not to be closed.
  [[nodiscard]] int descriptor() const { return descriptor_; }

  /// For libraries that want a name: closes the temporary file, which is empty, and returns its
  /// absolute name. The library overwrites it and closes it before commit().
  [[nodiscard]] std::filesystem::path hand_over();

  /// The same for libraries that insist on creating their file: it is removed.
  [[nodiscard]] std::filesystem::path hand_over_name();

  /// Waits until the bytes are on the disk, then renames. @throws OutputError.
  void commit();

  /// The same for several: all reach the disk before the first gets its name. Where one cannot be
  /// renamed, those before it are taken back, and the message names those that cannot be, since the
  /// disk cannot exchange two files at once. @throws OutputError.
  static void commit_all(std::list<AtomicFile>& files);

 private:
  /// What stands under the temporary name once the target has its own.
  enum class Published { no, new_name, replaced, exchanged };

  void close_descriptor();
  void sync();
  [[nodiscard]] int publish();
  [[nodiscard]] bool take_back();
  static void publish_all(std::list<AtomicFile*>& files);
  static void commit_pointers(std::list<AtomicFile*> files);

  std::filesystem::path target_;
  std::filesystem::path temporary_;
  int descriptor_ = -1;
  Published published_ = Published::no;
};

/// Checks before a long run that a result can be written there. Leaves no file behind.
/// @throws OutputError as AtomicFile does.
void check_writable(const std::filesystem::path& target);

/// Writes a whole small file through AtomicFile. @throws OutputError.
void write_file(const std::filesystem::path& target, std::string_view text);

/// Removes the temporaries of all AtomicFile objects alive, for an application that must leave
/// without unwinding. Their commit() fails afterwards. Any thread; not from a signal handler.
void remove_unfinished_files();

}  // namespace lull::files
