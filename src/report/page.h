#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "health/findings.h"
#include "report/charts.h"
#include "report/picture_set.h"

namespace lull::report {

/// A line of a table, or a figure with its name.
struct Fact {
  std::string name;
  std::string value;
  std::string note{};  ///< smaller, may be empty
  std::string more{};  ///< smaller still: how it was measured; may be empty
  std::string link{};  ///< of a file: reference to it from the page; empty = none
};

/// The copy to share that the run wrote.
struct SharedCopy {
  PictureToShow picture;  ///< its name is that of the file
  std::string link;       ///< to the file, from the page
};

/// A drawing with words of its own, as an SVG document that needs nothing else (draw/svg_plot.h).
struct Drawing {
  std::string title;
  std::string reading;      ///< what it shows and what to look at
  std::string alternative;  ///< what someone who cannot see it should know
  std::string svg;
};

/// A table; the first cell of a row names it.
struct Table {
  std::string title;
  std::string reading;
  std::vector<std::string> heads;
  std::vector<std::vector<std::string>> rows;  ///< as long as `heads`
};

/// Everything that a report shows. Texts are plain UTF-8; the page escapes them, so that they may
/// hold any file name.
struct Contents {
  std::string title;    ///< name of the capture
  std::string summary;  ///< one sentence
  std::string caution;  ///< safety; empty = none is due
  std::vector<PictureToShow> pictures;
  double arcsec_per_px = 0;  ///< of the pictures, for the scale bar; 0 = not known
  std::vector<Fact> figures;
  std::optional<SharedCopy> shared{};
  std::optional<std::vector<health::Finding>> findings{};  ///< none: no capture was looked at
  std::string judged_from;                                 ///< what the findings rest on
  std::vector<Drawing> drawings{};
  std::vector<Table> tables{};
  std::string charts_title = "How the stack was made";
  std::vector<Chart> charts;
  std::string command;             ///< that repeats the run
  std::vector<Fact> chosen;        ///< options that the user chose: value; note: what followed
  std::vector<Fact> defaults;      ///< the other options
  std::vector<Fact> inputs;        ///< name of the file; checksum; how to check it
  std::vector<Fact> results;       ///< name of the file; what it is
  std::vector<Fact> versions;      ///< of the program and its libraries
  std::vector<std::string> notes;  ///< warnings, and what was done without being asked
};

/// No report is larger than this by much: the pictures are made to fit.
inline constexpr std::size_t kMostPageBytes = 4'800'000;

/// One HTML document (HTML living standard) that needs nothing else: no network, no other file.
/// Without scripts it still shows pictures, figures and tables. Same bytes for the same contents.
[[nodiscard]] std::string page(const Contents& contents);

}  // namespace lull::report
