#include "cli/streams.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

#include "files/name_text.h"

namespace lull::cli {

void keep_standard_streams() {
  for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
    // open() takes the lowest free number, which is this one. Read-only: writing to it fails.
    if (::fcntl(stream, F_GETFD) < 0) static_cast<void>(::open("/dev/null", O_RDONLY));
  }
}

std::string printable(const std::string& text) {
  constexpr char kDelete = '\x7F';
  constexpr char kSecondSet = '\xC2';  // before U+0080 to U+009F, ECMA-48's controls of 8 bits
  const std::string utf8 = files::utf8_text(text);
  std::string out;
  out.reserve(utf8.size());
  for (std::size_t i = 0; i < utf8.size(); ++i) {
    const char c = utf8[i];
    const auto byte = static_cast<unsigned char>(c);
    if ((byte < ' ' && c != '\n' && c != '\t') || c == kDelete) {
      out += fmt::format("\\x{:02x}", byte);
    } else if (c == kSecondSet && static_cast<unsigned char>(utf8[i + 1]) < 0xA0) {
      out += fmt::format("\\u{:04x}", static_cast<unsigned char>(utf8[++i]));
    } else {
      out += c;
    }
  }
  return out;
}

void write_error(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

}  // namespace lull::cli
