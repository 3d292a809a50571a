#include "files/atomic_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <mutex>
#include <set>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "files/failure.h"
#include "files/left_files.h"
#include "files/place.h"

namespace lull::files {

namespace fs = std::filesystem;

namespace {

class Unfinished {
 public:
  /// Until it is released, nothing is removed.
  [[nodiscard]] std::unique_lock<std::mutex> hold() { return std::unique_lock(guard_); }

  void add(const fs::path& path) {
    const std::scoped_lock lock(guard_);
    paths_.insert(path);
  }

  void remove(const fs::path& path) {
    const std::scoped_lock lock(guard_);
    paths_.erase(path);
  }

  void unlink_all() {
    const std::scoped_lock lock(guard_);
    for (const fs::path& path : paths_) ::unlink(path.c_str());
    paths_.clear();
  }

 private:
  std::mutex guard_;
  std::set<fs::path> paths_;
};

Unfinished& unfinished() {
  static Unfinished files;
  return files;
}

fs::path folder_of(const fs::path& target) {
  const fs::path folder = target.parent_path();
  return folder.empty() ? fs::path(".") : folder;
}

/// Absolute, with links followed, so that the rename replaces the file and not the link to it.
fs::path resolved(const fs::path& target) {
  if (target.empty()) throw OutputError("cannot write the result: its file name is empty");
  std::error_code failed;
  const fs::path absolute = fs::absolute(target, failed);
  if (failed) throw cannot_write(target, failed.value());
  const auto end = end_of_links(absolute);
  if (!end) throw cannot_write(target, ELOOP);
  return *end;
}

/// Renaming would silently replace what a plain open() would refuse; so refuse it here.
void refuse_bad_target(const fs::path& target) {
  if (!target.has_filename()) throw cannot_write(target, EISDIR);
  struct stat found = {};
  if (::stat(target.c_str(), &found) != 0) {
    if (errno != ENOENT) throw cannot_write(target, errno);
    std::error_code ignored;
    if (!fs::is_directory(folder_of(target), ignored)) throw cannot_write(target, ENOENT);
    return;
  }
  if (S_ISDIR(found.st_mode)) throw cannot_write(target, EISDIR);
  if (!S_ISREG(found.st_mode)) {
    throw OutputError(fmt::format(
        "cannot write '{}': it is a device or a pipe, not an ordinary file; choose another name",
        target.string()));
  }
  if (::access(target.c_str(), W_OK) != 0) throw cannot_write(target, errno);
}

int open_new(const fs::path& path) {
  return ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
}

/// Some network file systems cannot sync; that is no reason to lose a result.
bool sync_failed(int descriptor) {
  return ::fsync(descriptor) != 0 && errno != EINVAL && errno != ENOTSUP;
}

void sync_folder(const fs::path& folder) {
  const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return;  // a folder that may be written but not listed
  ::fsync(descriptor);
  ::close(descriptor);
}

}  // namespace

AtomicFile::AtomicFile(const fs::path& target) : target_(resolved(target)) {
  refuse_bad_target(target_);
  do {
    temporary_ = folder_of(target_) / temporary_name();
    unfinished().add(temporary_);
    descriptor_ = open_new(temporary_);
    if (descriptor_ < 0) {
      const int error_number = errno;
      unfinished().remove(temporary_);  // not ours, if it exists
      if (error_number != EEXIST) throw cannot_write(target_, error_number);
    }
  } while (descriptor_ < 0);
}

AtomicFile::~AtomicFile() {
  close_descriptor();
  ::unlink(temporary_.c_str());  // gone already where all went well
  unfinished().remove(temporary_);
}

void AtomicFile::close_descriptor() {
  if (descriptor_ >= 0) ::close(descriptor_);
  descriptor_ = -1;
}

void AtomicFile::write(std::span<const std::byte> bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor_, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw cannot_write(target_, errno);
    bytes = bytes.subspan(static_cast<std::size_t>(written));
  }
}

void AtomicFile::write(std::string_view text) { write(std::as_bytes(std::span(text))); }

fs::path AtomicFile::hand_over() {
  close_descriptor();
  return temporary_;
}

fs::path AtomicFile::hand_over_name() {
  close_descriptor();
  ::unlink(temporary_.c_str());
  return temporary_;
}

void AtomicFile::sync() {
  if (descriptor_ < 0) descriptor_ = ::open(temporary_.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
  if (descriptor_ < 0) throw cannot_write(target_, errno);
  struct stat earlier = {};
  if (::stat(target_.c_str(), &earlier) == 0) {
    ::fchmod(descriptor_, earlier.st_mode & 07777U);  // best effort: not all disks have permissions
  }
  if (sync_failed(descriptor_)) throw cannot_write(target_, errno);
  const int descriptor = descriptor_;
  descriptor_ = -1;
  if (::close(descriptor) != 0) throw cannot_write(target_, errno);
}

/// @return 0, or why the target could not get its name.
int AtomicFile::publish() {
  struct stat earlier = {};
  const bool exists = ::lstat(target_.c_str(), &earlier) == 0;
  if (exists && S_ISDIR(earlier.st_mode)) return EISDIR;
  if (exists &&
      ::renameat2(AT_FDCWD, temporary_.c_str(), AT_FDCWD, target_.c_str(), RENAME_EXCHANGE) == 0) {
    published_ = Published::exchanged;
    return 0;
  }
  // Not all file systems can exchange.
  if (::rename(temporary_.c_str(), target_.c_str()) != 0) return errno;
  published_ = exists ? Published::replaced : Published::new_name;
  return 0;
}

/// @return false if the target stays replaced.
bool AtomicFile::take_back() {
  if (published_ == Published::replaced) return false;
  const auto how = static_cast<unsigned>(published_ == Published::exchanged ? RENAME_EXCHANGE
                                                                            : RENAME_NOREPLACE);
  if (::renameat2(AT_FDCWD, target_.c_str(), AT_FDCWD, temporary_.c_str(), how) != 0 &&
      (published_ == Published::exchanged || ::rename(target_.c_str(), temporary_.c_str()) != 0))
    return false;
  published_ = Published::no;
  return true;
}

void AtomicFile::publish_all(std::list<AtomicFile*>& files) {
  // A second Ctrl-C waits so long.
  const auto held = unfinished().hold();
  for (auto file = files.begin(); file != files.end(); ++file) {
    const int error_number = (*file)->publish();
    if (error_number == 0) continue;
    std::vector<std::string> replaced;
    for (auto earlier = files.begin(); earlier != file; ++earlier) {
      if (!(*earlier)->take_back()) replaced.push_back((*earlier)->target_.string());
    }
    const OutputError error = cannot_write((*file)->target_, error_number);
    if (replaced.empty()) throw error;
    throw OutputError(fmt::format("{}. Already replaced by results of this run: {}", error.what(),
                                  fmt::join(replaced, ", ")));
  }
}

void AtomicFile::commit_pointers(std::list<AtomicFile*> files) {
  for (AtomicFile* file : files) file->sync();
  publish_all(files);
  std::set<fs::path> folders;
  for (AtomicFile* file : files) {
    if (file->published_ == Published::exchanged) ::unlink(file->temporary_.c_str());
    unfinished().remove(file->temporary_);
    folders.insert(folder_of(file->target_));
  }
  for (const fs::path& folder : folders) sync_folder(folder);
}

void AtomicFile::commit() { commit_pointers({this}); }

void AtomicFile::commit_all(std::list<AtomicFile>& files) {
  std::list<AtomicFile*> pointers;
  for (AtomicFile& file : files) pointers.push_back(&file);
  commit_pointers(std::move(pointers));
}

void check_writable(const fs::path& target) { const AtomicFile probe(target); }

void write_file(const fs::path& target, std::string_view text) {
  AtomicFile file(target);
  file.write(text);
  file.commit();
}

void remove_unfinished_files() { unfinished().unlink_all(); }

}  // namespace lull::files
