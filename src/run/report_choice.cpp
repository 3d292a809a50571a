#include "run/report_choice.h"

#include <algorithm>
#include <cctype>
#include <filesystem>

namespace lull::run {

namespace fs = std::filesystem;

ReportChoice parse_report(const std::string& text) {
  if (text == "auto") return {};
  if (text == "none") return {ReportChoice::Where::nowhere};
  std::string ending = fs::path(text).extension();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (ending == ".html" || ending == ".htm") return {ReportChoice::Where::file, text};
  throw invalid_value("--report", text,
                      "auto (beside the picture), none, or a name that ends in .html");
}

std::string print_report(const ReportChoice& report) {
  switch (report.where) {
    case ReportChoice::Where::beside:
      return "auto";
    case ReportChoice::Where::nowhere:
      return "none";
    case ReportChoice::Where::file:
      break;
  }
  return report.file;
}

std::string ReportChoice::path_beside(const std::string& picture, const char* ending) const {
  if (where == Where::nowhere) return {};
  if (where == Where::file) return file;
  return fs::path(picture).replace_extension(ending);
}

}  // namespace lull::run
