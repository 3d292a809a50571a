#include "report/link.h"

#include <fmt/format.h>

#include <string_view>

namespace lull::report {

namespace {

bool is_unreserved(unsigned char c) {
  constexpr std::string_view kMarks = "-._~";  // RFC 3986, section 2.3
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         kMarks.find(static_cast<char>(c)) != std::string_view::npos;
}

}  // namespace

std::string relative_link(const std::filesystem::path& target, const std::filesystem::path& page) {
  namespace fs = std::filesystem;
  const fs::path folder = fs::absolute(page).lexically_normal().parent_path();
  const fs::path way = fs::absolute(target).lexically_normal().lexically_relative(folder);
  std::string link;
  for (const char c : way.generic_string()) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '/' || is_unreserved(byte))
      link += c;
    else
      link += fmt::format("%{:02X}", byte);
  }
  return link;
}

}  // namespace lull::report
