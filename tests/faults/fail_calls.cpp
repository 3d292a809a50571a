// Preloaded into a program (LD_PRELOAD): makes the n-th call of a kind fail. From main() on.
//   LULL_FAULT_KIND   open, read, write, sync, rename, memory
//   LULL_FAULT_AT     which call fails, from 1; 0: none
//   LULL_FAULT_LASTS  not empty: all later ones fail, too
//   LULL_FAULT_ERROR  the error number that it leaves
//   LULL_FAULT_PATH   calls count on files whose absolute name holds this text
//   LULL_FAULT_COUNT  file for the number of calls, written at the end
// Memory counts from 64 KiB on: systems refuse large requests, not small ones.
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/types.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <climits>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace {

enum class Kind { none, open, read, write, sync, rename, memory };

constexpr std::size_t kLargeBytes = std::size_t{64} * 1024;
constexpr int kErrorFlag = 0x20;    // of FILE in glibc: _IO_ERR_SEEN
constexpr int kNoWritesFlag = 0x8;  // _IO_NO_WRITES

std::atomic<bool> active{false};
std::atomic<long> calls{0};
Kind wanted = Kind::none;
long fail_at = 0;
bool lasts = false;
int error_number = EIO;
const char* path_part = "";

template <class Function>
Function next(Function, const char* name) {
  return reinterpret_cast<Function>(::dlsym(RTLD_NEXT, name));
}

bool fails_now() {
  const long call = calls.fetch_add(1) + 1;
  const bool fails = fail_at > 0 && (call == fail_at || (lasts && call > fail_at));
  if (fails) errno = error_number;
  return fails;
}

bool fails_on_path(Kind kind, const char* path) {
  if (!active || kind != wanted || path == nullptr) return false;
  char absolute[PATH_MAX] = "";
  if (path[0] != '/' && ::getcwd(absolute, sizeof absolute) == nullptr) return false;
  const bool counts =
      std::strstr(absolute, path_part) != nullptr || std::strstr(path, path_part) != nullptr;
  return counts && fails_now();
}

bool fails_on(Kind kind, int descriptor) {
  if (!active || kind != wanted) return false;
  char link[64];
  char path[PATH_MAX] = "";
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
  const ssize_t length = ::readlink(link, path, sizeof path - 1);
  if (length <= 0) return false;
  path[length] = '\0';
  return std::strstr(path, path_part) != nullptr && fails_now();
}

bool fails_on(Kind kind, std::FILE* file) {
  if (!active || kind != wanted || !fails_on(kind, ::fileno(file))) return false;
  file->_flags |= kErrorFlag;
  return true;
}

bool fails_for(std::size_t bytes) {
  if (!active || wanted != Kind::memory || bytes < kLargeBytes) return false;
  if (!fails_now()) return false;
  errno = ENOMEM;
  return true;
}

const char* text_of(const char* name) {
  const char* text = std::getenv(name);
  return text == nullptr ? "" : text;
}

void begin() {
  constexpr const char* kNames[] = {"", "open", "read", "write", "sync", "rename", "memory"};
  for (int i = 1; i < 7; ++i) {
    if (std::strcmp(kNames[i], text_of("LULL_FAULT_KIND")) == 0) wanted = static_cast<Kind>(i);
  }
  fail_at = std::atol(text_of("LULL_FAULT_AT"));
  lasts = *text_of("LULL_FAULT_LASTS") != '\0';
  error_number = std::atoi(text_of("LULL_FAULT_ERROR"));
  path_part = text_of("LULL_FAULT_PATH");
  active = true;
}

void end() {
  active = false;
  if (*text_of("LULL_FAULT_COUNT") == '\0') return;
  if (std::FILE* file = std::fopen(text_of("LULL_FAULT_COUNT"), "w")) {
    std::fprintf(file, "%ld\n", calls.load());
    std::fclose(file);
  }
}

using Main = int (*)(int, char**, char**);
Main real_main = nullptr;

int counted_main(int argc, char** argv, char** environment) {
  begin();
  const int status = real_main(argc, argv, environment);
  end();
  return status;
}

mode_t mode_of(int flags, va_list arguments) {
  return (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(arguments, mode_t) : 0;
}

}  // namespace

extern "C" {

// NOLINTNEXTLINE(*-identifier*): the name in glibc
int __libc_start_main(Main main, int argc, char** argv, void (*init)(), void (*fini)(),
                      void (*loader_fini)(), void* stack_end) {
  real_main = main;
  return next(&__libc_start_main, "__libc_start_main")(counted_main, argc, argv, init, fini,
                                                       loader_fini, stack_end);
}

int open(const char* path, int flags, ...) {
  va_list arguments;
  va_start(arguments, flags);
  const mode_t mode = mode_of(flags, arguments);
  va_end(arguments);
  if (fails_on_path(Kind::open, path)) return -1;
  return next(&open, "open")(path, flags, mode);
}

int open64(const char* path, int flags, ...) {
  va_list arguments;
  va_start(arguments, flags);
  const mode_t mode = mode_of(flags, arguments);
  va_end(arguments);
  if (fails_on_path(Kind::open, path)) return -1;
  return next(&open64, "open64")(path, flags, mode);
}

std::FILE* fopen(const char* path, const char* mode) {
  if (fails_on_path(Kind::open, path)) return nullptr;
  return next(&fopen, "fopen")(path, mode);
}

std::FILE* fopen64(const char* path, const char* mode) {
  if (fails_on_path(Kind::open, path)) return nullptr;
  return next(&fopen64, "fopen64")(path, mode);
}

ssize_t read(int file, void* into, std::size_t bytes) {
  return fails_on(Kind::read, file) ? -1 : next(&read, "read")(file, into, bytes);
}

ssize_t pread(int file, void* into, std::size_t bytes, off_t at) {
  return fails_on(Kind::read, file) ? -1 : next(&pread, "pread")(file, into, bytes, at);
}

ssize_t pread64(int file, void* into, std::size_t bytes, off64_t at) {
  return fails_on(Kind::read, file) ? -1 : next(&pread64, "pread64")(file, into, bytes, at);
}

std::size_t fread(void* into, std::size_t size, std::size_t count, std::FILE* file) {
  return fails_on(Kind::read, file) ? 0 : next(&fread, "fread")(into, size, count, file);
}

ssize_t write(int file, const void* from, std::size_t bytes) {
  return fails_on(Kind::write, file) ? -1 : next(&write, "write")(file, from, bytes);
}

std::size_t fwrite(const void* from, std::size_t size, std::size_t count, std::FILE* file) {
  return fails_on(Kind::write, file) ? 0 : next(&fwrite, "fwrite")(from, size, count, file);
}

// What is in the buffer still may not reach the disk.
int fclose(std::FILE* file) {
  const bool writes = (file->_flags & kNoWritesFlag) == 0;
  const bool fails = writes && fails_on(Kind::write, file);
  const int status = next(&fclose, "fclose")(file);
  if (fails) errno = error_number;
  return fails ? EOF : status;
}

int fsync(int file) { return fails_on(Kind::sync, file) ? -1 : next(&fsync, "fsync")(file); }

int rename(const char* from, const char* to) {
  return fails_on_path(Kind::rename, to) ? -1 : next(&rename, "rename")(from, to);
}

int renameat2(int from_folder, const char* from, int to_folder, const char* to, unsigned flags) {
  if (fails_on_path(Kind::rename, to)) return -1;
  return next(&renameat2, "renameat2")(from_folder, from, to_folder, to, flags);
}

void* malloc(std::size_t bytes) {
  static const auto real = next(&malloc, "malloc");
  return fails_for(bytes) ? nullptr : real(bytes);
}

void* realloc(void* earlier, std::size_t bytes) {
  static const auto real = next(&realloc, "realloc");
  return fails_for(bytes) ? nullptr : real(earlier, bytes);
}

int posix_memalign(void** out, std::size_t alignment, std::size_t bytes) {
  static const auto real = next(&posix_memalign, "posix_memalign");
  return fails_for(bytes) ? ENOMEM : real(out, alignment, bytes);
}

void* aligned_alloc(std::size_t alignment, std::size_t bytes) {
  static const auto real = next(&aligned_alloc, "aligned_alloc");
  return fails_for(bytes) ? nullptr : real(alignment, bytes);
}
}
