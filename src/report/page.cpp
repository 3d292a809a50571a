#include "report/page.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string_view>

#include "core/words.h"
#include "draw/plot_table.h"
#include "draw/xml_text.h"
#include "report/assets.h"
#include "report/base64.h"
#include "report/hash_source.h"
#include "report/levels_plot.h"

namespace lull::report {

namespace {

using draw::Plot;
using draw::PlotMark;
using draw::xml_text;

constexpr std::size_t kMostTableRows = 120;
constexpr std::size_t kOtherBytes = 600'000;         // what is not pictures
constexpr std::size_t kMostSharedBytes = 1'000'000;  // of the copy to share

constexpr std::string_view kFirstScript = "document.documentElement.classList.add(\"js\");";

std::string style() { return fmt::format("\n{}\n{}", assets::kUplotCss, assets::kLookCss); }

// Nothing may be loaded from outside the page, and only its own scripts and style count, even if a
// file name contains markup.
std::string policy() {
  std::string scripts;
  for (const std::string_view script :
       {kFirstScript, assets::kUplotJs, assets::kViewerJs, assets::kChartsJs})
    scripts += " " + hash_source(script);
  return fmt::format(
      "default-src 'none'; img-src data:; style-src {}; script-src{}; base-uri 'none'; "
      "form-action 'none'",
      hash_source(style()), scripts);
}

// Text in which options and dates are not broken at their hyphens, nor numbers from their units.
std::string with_whole_words(const std::string& text) {
  const std::string bound = with_bound_numbers(text);
  std::string out;
  for (std::size_t at = 0; at < bound.size();) {
    const std::size_t end = std::min(bound.find(' ', at), bound.size());
    const std::string word = xml_text(bound.substr(at, end - at));
    const bool may_break = word.find('-') != std::string::npos;
    out += may_break ? "<span class=\"whole\">" + word + "</span>" : word;
    if (end < bound.size()) out += ' ';
    at = end + 1;
  }
  return out;
}

// A name that someone else chose: it must not turn the direction of the text around it.
std::string isolated(const std::string& text) { return "<bdi>" + xml_text(text) + "</bdi>"; }

// JSON inside a script element: "</script>" and "<!--" must not occur.
std::string script_json(const nlohmann::json& json) {
  const std::string text = json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  std::string out;
  out.reserve(text.size());
  for (const char c : text) c == '<' ? out += "\\u003c" : out += c;
  return out;
}

std::string head(const Contents& contents) {
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"generator\" content=\"Lull {}\">\n"
      "<link rel=\"icon\" href=\"data:,\">\n"
      "<title>{} – report</title>\n<style>{}</style>\n"
      "<script>{}</script>\n</head>\n",
      policy(), LULL_VERSION, xml_text(contents.title), style(), kFirstScript);
}

std::string masthead(const Contents& contents) {
  std::string text = fmt::format(
      "<body>\n<a class=\"skip\" href=\"#figures\">To the figures</a>\n<header>\n<h1>{}</h1>\n"
      "<p class=\"soft\">{}</p>\n",
      isolated(contents.title), with_whole_words(contents.summary));
  if (!contents.caution.empty())
    text += fmt::format("<p class=\"caution\" role=\"note\">{}</p>\n", xml_text(contents.caution));
  return text + "</header>\n<main>\n";
}

std::string layers(const Contents& contents, const PictureSet& set) {
  std::string text;
  for (std::size_t i = 0; i < contents.pictures.size(); ++i) {
    const PictureToShow& shown = contents.pictures[i];
    text += fmt::format(
        "<figure data-name=\"{0}\"><img alt=\"{1}\" src=\"{2}\"><figcaption>{0}</figcaption>"
        "</figure>\n",
        xml_text(shown.name), xml_text(shown.alternative), set.uris[i]);
  }
  return text;
}

std::string comparison(const Contents& contents) {
  std::string stops;
  for (const PictureToShow& shown : contents.pictures)
    stops += fmt::format("<button type=\"button\">{}</button>\n", xml_text(shown.name));
  const std::size_t last = 100 * (contents.pictures.size() - 1);
  return fmt::format(
      "<div class=\"compare\">\n<label for=\"compare\">Compare the pictures</label>\n"
      "<input type=\"range\" id=\"compare\" min=\"0\" max=\"{0}\" step=\"1\" value=\"{2}\">\n"
      "<div class=\"stops\">\n{1}</div>\n</div>\n",
      last, stops, last > 0 ? last - 50 : 0);
}

std::string picture_words(const Contents& contents, const PictureSet& set) {
  const bool linear = std::all_of(
      contents.pictures.begin(), contents.pictures.end(),
      [](const PictureToShow& shown) { return shown.transfer == files::Transfer::linear; });
  std::string text;
  if (linear) {
    text += fmt::format(
        "Shown by the curve of sRGB, from {:.4g} (black) to {:.4g} of full scale, the same for "
        "all.",
        set.levels.shown_as_black(), set.levels.white);
  }
  if (linear && set.levels.darkest)
    text +=
        " The dark spots share the darker two fifths of the gray values, so that the rest shows.";
  if (set.coding == Coding::jpeg) text += " Compressed as JPEG to keep this page small.";
  if (set.reduction > 1)
    text += fmt::format(" Made {} times smaller; the files have all pixels.", set.reduction);
  return text;
}

std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string notes(const Contents& contents) {
  if (contents.notes.empty()) return {};
  std::string text = "<ul class=\"notes\" aria-label=\"Notes on this run\">\n";
  for (const std::string& note : contents.notes)
    text += fmt::format("<li>{}</li>\n", isolated(capitalised(note)));
  return text + "</ul>\n";
}

std::string viewer(const Contents& contents, const PictureSet& set) {
  if (contents.pictures.empty()) return {};
  const Size size = contents.pictures.front().picture.size();
  return fmt::format(
      "<section aria-label=\"Picture\">\n"
      "<div class=\"stage\" data-width=\"{}\" data-height=\"{}\" data-scale=\"{}\" "
      "data-unit=\"{}\" tabindex=\"0\" role=\"group\" "
      "aria-label=\"Picture: zoom and move\" aria-describedby=\"keys\">\n{}"
      "<div class=\"curtain\" hidden><span class=\"line\"></span><span class=\"handle\" "
      "role=\"slider\" tabindex=\"0\" aria-label=\"Border between the two pictures\" "
      "aria-valuemin=\"0\" aria-valuemax=\"100\" aria-valuenow=\"50\"></span></div>\n"
      "<span class=\"side left\" aria-hidden=\"true\"></span>"
      "<span class=\"side right\" aria-hidden=\"true\" hidden></span>"
      "<span class=\"bar\" aria-hidden=\"true\"></span>\n</div>\n"
      "<div class=\"controls\">\n{}<div class=\"zoom\" role=\"group\" aria-label=\"View\">\n"
      "<button type=\"button\" data-zoom=\"out\" aria-label=\"Zoom out\">−</button>\n"
      "<button type=\"button\" data-zoom=\"in\" aria-label=\"Zoom in\">+</button>\n"
      "<button type=\"button\" data-zoom=\"fit\">Fit</button>\n"
      "<button type=\"button\" data-zoom=\"pixels\" aria-label=\"One pixel to one pixel\">1:1"
      "</button>\n<button type=\"button\" data-zoom=\"turn\" aria-label=\"Turn "
      "clockwise\">Turn</button>\n"
      "<button type=\"button\" data-zoom=\"mirror\" aria-label=\"Mirror left to right\">Mirror"
      "</button>\n<output aria-label=\"Zoom\"></output>\n</div>\n</div>\n"
      "<p class=\"note\" id=\"keys\">{} <span class=\"keys\">Zoom with wheel, pinch, + and −; move "
      "by dragging or with the arrow keys; 0 fits the picture, 1 shows one pixel of it on one "
      "of the screen, r turns it and m mirrors it. The files stay as they "
      "are.</span></p>\n{}</section>\n",
      std::max(1, size.width_px / set.reduction), std::max(1, size.height_px / set.reduction),
      set.reduction * (contents.arcsec_per_px > 0 ? contents.arcsec_per_px : 1),
      contents.arcsec_per_px > 0 ? "″" : " px", layers(contents, set), comparison(contents),
      picture_words(contents, set), notes(contents));
}

std::string figures(const Contents& contents) {
  std::string text = "<section id=\"figures\" aria-label=\"Figures\">\n<dl class=\"figures\">\n";
  for (const Fact& fact : contents.figures) {
    const std::string note =
        fact.note.empty() ? "" : "<small>" + with_whole_words(fact.note) + "</small>";
    const std::string more =
        fact.more.empty() ? ""
                          : "<small class=\"more\">" + with_whole_words(fact.more) + "</small>";
    text += fmt::format("<div><dt>{}</dt><dd>{}{}{}</dd></div>\n", xml_text(fact.name),
                        xml_text(fact.value), note, more);
  }
  return text + "</dl>\n</section>\n";
}

std::string shared_copy(const Contents& contents, const PictureSet& set) {
  if (!contents.shared) return {};
  const PictureToShow& shown = contents.shared->picture;
  std::string words = "8 bits, as screens show it.";
  if (set.reduction > 1) words += fmt::format(" Here {} times smaller.", set.reduction);
  return fmt::format(
      "<section>\n<h2>The copy to share</h2>\n<figure class=\"shared\">\n"
      "<img alt=\"{}\" src=\"{}\">\n<figcaption><a href=\"{}\">{}</a>: {}</figcaption>\n"
      "</figure>\n</section>\n",
      xml_text(shown.alternative), set.uris.front(), xml_text(contents.shared->link),
      isolated(shown.name), words);
}

std::string findings(const Contents& contents) {
  if (!contents.findings) return {};
  std::string text = "<section>\n<h2>Next time</h2>\n";
  if (contents.findings->empty()) {
    text += "<p>Nothing needs to change.</p>\n";
  } else {
    text += "<ul class=\"next\">\n";
    for (const health::Finding& finding : *contents.findings) {
      text += fmt::format("<li><b>{}.</b> {}.</li>\n", xml_text(capitalised(finding.what)),
                          xml_text(capitalised(finding.next)));
    }
    text += "</ul>\n";
  }
  if (!contents.judged_from.empty())
    text += fmt::format("<p class=\"note\">{}</p>\n", xml_text(contents.judged_from));
  return text + "</section>\n";
}

// A sample of how a series is drawn, in a box of 24 x 10.
std::string sample_shape(PlotMark mark) {
  const auto line = [](std::string_view dashes, int width) {
    return fmt::format(
        "<path d=\"M0 5H24\" stroke=\"currentColor\" stroke-width=\"{}\" "
        "stroke-dasharray=\"{}\"/>",
        width, dashes);
  };
  switch (mark) {
    case PlotMark::dots:
      return "<circle cx=\"12\" cy=\"5\" r=\"3\" fill=\"currentColor\"/>";
    case PlotMark::rings:
      return "<circle cx=\"12\" cy=\"5\" r=\"3\" fill=\"none\" stroke=\"currentColor\"/>";
    case PlotMark::area:
      return "<path d=\"M1 9V2H23V9\" fill=\"currentColor\" fill-opacity=\".25\" "
             "stroke=\"currentColor\" stroke-width=\"1.5\"/>";
    case PlotMark::dashed:
      return line("7 5", 2);
    case PlotMark::dotted:
      return line("2 4", 2);
    case PlotMark::reference:
      return line("none", 1);
    case PlotMark::line:
    case PlotMark::points:
    case PlotMark::steps:
      break;
  }
  return line("none", 2);
}

std::string legend(const Plot& plot) {
  if (plot.series.size() < 2) return {};
  std::string text = "<ul class=\"legend\">";
  for (std::size_t i = 0; i < plot.series.size(); ++i) {
    text += fmt::format(
        "<li><svg viewBox=\"0 0 24 10\" aria-hidden=\"true\" data-colour=\"{}\">{}</svg>{}</li>",
        colour_variable(plot, i), sample_shape(plot.series[i].mark), xml_text(plot.series[i].name));
  }
  return text + "</ul>\n";
}

std::string cell(std::optional<double> value) {
  return fmt::format("<td class=\"n\">{}</td>",
                     value && std::isfinite(*value) ? fmt::format("{:.4g}", *value) : "–");
}

std::string table(const Plot& plot) {
  const draw::PlotTable values = draw::table_of(plot);
  if (values.xs.size() > kMostTableRows) return {};
  std::string text = fmt::format(
      "<details><summary>As a table</summary><div class=\"wide\" tabindex=\"0\" role=\"group\" "
      "aria-label=\"Table\"><table><thead><tr><th scope=\"col\">{}</th>",
      xml_text(plot.x.label));
  for (const draw::PlotSeries& series : plot.series)
    text += fmt::format("<th scope=\"col\">{}</th>", xml_text(series.name));
  text += "</tr></thead><tbody>";
  for (std::size_t row = 0; row < values.xs.size(); ++row) {
    text += "<tr>" + cell(values.xs[row]);
    for (const auto& ys : values.ys) text += cell(ys[row]);
    text += "</tr>";
  }
  return text + "</tbody></table></div></details>\n";
}

// Text under a drawing, by its kind.
std::string below(const Plot& plot) {
  return legend(plot) + "<p class=\"readout\"></p>\n" + table(plot);
}

std::string below(const Track&) { return {}; }

std::string below(const Arrows& arrows) {
  if (arrows.frames.empty()) return {};
  return fmt::format(
      "<div class=\"frames\"><button type=\"button\">Play</button><input type=\"range\" min=\"0\" "
      "max=\"{}\" value=\"0\" aria-label=\"Frame\"><output></output></div>\n",
      arrows.frames.size() - 1);
}

std::string below(const Map& map) {
  return fmt::format("<p class=\"scale\">{:.3g}<i></i>{:.3g} {}</p>\n", map.low, map.high,
                     xml_text(map.unit));
}

std::string figure(const Chart& chart, std::string_view heading) {
  const bool plot = std::holds_alternative<Plot>(chart.drawing);
  return fmt::format(
      "<figure class=\"chart\" aria-labelledby=\"title-{0}\">\n<{6} id=\"title-{0}\">{1}</{6}>\n"
      "<p class=\"reading\">{2}</p>\n"
      "<div class=\"draw\" data-chart=\"{0}\" role=\"img\" aria-label=\"{3}\"{4}></div>\n{5}"
      "</figure>\n",
      chart.id, xml_text(chart.title()), with_whole_words(chart.reading),
      xml_text(chart.alternative), plot ? " tabindex=\"0\"" : "",
      std::visit([](const auto& drawing) { return below(drawing); }, chart.drawing), heading);
}

// Of the last picture, the result.
std::optional<Chart> levels_chart(const Contents& contents, const PictureSet& set) {
  if (contents.pictures.empty()) return std::nullopt;
  const PictureToShow& shown = contents.pictures.back();
  std::string words = "Values are those of the file: 0 is black and 1 is white.";
  std::optional<LevelMarks> marks;
  if (shown.transfer == files::Transfer::linear) {
    marks = {set.levels.shown_as_black(), set.levels.white};
    words = fmt::format("The picture above shows {:.4g} as black and {:.4g} as white.",
                        marks->black, marks->white);
  }
  return Chart{"levels", words + " The axis of pixels is logarithmic.", words,
               levels_plot(shown.picture, marks)};
}

std::string drawings(const Contents& contents) {
  std::string text;
  for (const Drawing& drawing : contents.drawings) {
    const std::string uri =
        "data:image/svg+xml;base64," + base64(std::as_bytes(std::span(drawing.svg)));
    text += fmt::format(
        "<section>\n<h2>{}</h2>\n<p class=\"reading\">{}</p>\n<figure class=\"shared\">"
        "<img alt=\"{}\" src=\"{}\"></figure>\n</section>\n",
        xml_text(drawing.title), with_whole_words(drawing.reading), xml_text(drawing.alternative),
        uri);
  }
  return text;
}

std::string tables(const Contents& contents) {
  std::string text;
  for (const Table& table : contents.tables) {
    text += fmt::format(
        "<section>\n<h2>{0}</h2>\n<p class=\"reading\">{1}</p>\n<div class=\"wide\" "
        "tabindex=\"0\" role=\"group\" aria-label=\"{0}\"><table><thead><tr>",
        xml_text(table.title), with_whole_words(table.reading));
    for (const std::string& head : table.heads)
      text += fmt::format("<th scope=\"col\">{}</th>", xml_text(head));
    text += "</tr></thead><tbody>\n";
    for (const std::vector<std::string>& row : table.rows) {
      text += fmt::format("<tr><th scope=\"row\">{}</th>", isolated(row.front()));
      for (std::size_t i = 1; i < row.size(); ++i)
        text += fmt::format("<td>{}</td>", isolated(row[i]));
      text += "</tr>\n";
    }
    text += "</tbody></table></div>\n</section>\n";
  }
  return text;
}

std::string charts(const Contents& contents) {
  if (contents.charts.empty()) return {};
  std::string text = fmt::format("<section>\n<h2>{}</h2>\n<div class=\"charts\">\n",
                                 xml_text(contents.charts_title));
  for (const Chart& chart : contents.charts) text += figure(chart, "h3");
  return text + "</div>\n</section>\n";
}

constexpr std::string_view kFollowed = "<th scope=\"col\">What followed</th>";

std::string facts(std::string_view caption, std::string_view heads,
                  const std::vector<Fact>& facts) {
  if (facts.empty()) return {};
  const bool noted =
      std::any_of(facts.begin(), facts.end(), [](const Fact& fact) { return !fact.note.empty(); });
  if (!noted && heads.ends_with(kFollowed)) heads.remove_suffix(kFollowed.size());
  std::string text = fmt::format(
      "<h3>{0}</h3>\n<table class=\"facts\"><thead><tr>{1}</tr></thead><tbody>\n", caption, heads);
  for (const Fact& fact : facts) {
    std::string name = isolated(fact.name);
    if (!fact.link.empty()) name = fmt::format("<a href=\"{}\">{}</a>", xml_text(fact.link), name);
    text += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td>", name, isolated(fact.value));
    if (noted) text += fmt::format("<td class=\"soft\">{}</td>", isolated(fact.note));
    text += "</tr>\n";
  }
  return text + "</tbody></table>\n";
}

std::string making(const Contents& contents) {
  std::string text =
      "<section>\n<h2>How to make it again</h2>\n<p>This command repeats the run; with the same "
      "version and libraries it gives the same bytes, on any number of threads. Where the results "
      "still exist, it also needs --overwrite.</p>\n";
  text += "<pre tabindex=\"0\"><code>" + isolated(contents.command) + "</code></pre>\n";
  const std::string file = "<th scope=\"col\">File</th>";
  text += facts("Inputs", file + "<th scope=\"col\">SHA-256</th><th scope=\"col\">Of what</th>",
                contents.inputs);
  text += facts("Results", file + "<th scope=\"col\">What it is</th>", contents.results);
  const std::string option = "<th scope=\"col\">Option</th><th scope=\"col\">Value</th>";
  text += facts("Options that you chose", option + std::string(kFollowed), contents.chosen);
  if (!contents.defaults.empty()) {
    text += fmt::format("<details><summary>The other {} options, at their defaults</summary>\n{}",
                        contents.defaults.size(),
                        facts("Defaults", option + std::string(kFollowed), contents.defaults));
    text += "</details>\n";
  }
  text += facts("Versions", "<th scope=\"col\">Part</th><th scope=\"col\">Version</th>",
                contents.versions);
  return text + "</section>\n</main>\n";
}

std::string scripts(const Contents& contents, const std::optional<Chart>& levels) {
  nlohmann::json data = nlohmann::json::object();
  if (levels) data[levels->id] = to_json(*levels);
  for (const Chart& chart : contents.charts) data[chart.id] = to_json(chart);
  return fmt::format(
      "<footer>\n<p>Made by Lull {}. The charts are drawn by uPlot:</p>\n<details><summary>Licence "
      "of uPlot</summary><p class=\"licence\">{}</p></details>\n</footer>\n"
      "<script type=\"application/json\" id=\"data\">{}</script>\n<script>{}</script>\n"
      "<script>{}</script>\n<script>{}</script>\n</body>\n</html>\n",
      LULL_VERSION, xml_text(assets::kUplotLicence), script_json(data), assets::kUplotJs,
      assets::kViewerJs, assets::kChartsJs);
}

}  // namespace

std::string page(const Contents& contents) {
  std::vector<PictureToShow> shared;
  if (contents.shared) shared.push_back(contents.shared->picture);
  const PictureSet copy = picture_set(shared, kMostSharedBytes);
  std::size_t room = kMostPageBytes - kOtherBytes;
  for (const std::string& uri : copy.uris) room -= uri.size();
  const PictureSet set = picture_set(contents.pictures, room);
  const std::optional<Chart> levels = levels_chart(contents, set);
  std::string text = head(contents) + masthead(contents) + viewer(contents, set);
  if (levels) text += "<div class=\"levels\">\n" + figure(*levels, "h2") + "</div>\n";
  return text + shared_copy(contents, copy) + figures(contents) + findings(contents) +
         drawings(contents) + tables(contents) + charts(contents) + making(contents) +
         scripts(contents, levels);
}

}  // namespace lull::report
