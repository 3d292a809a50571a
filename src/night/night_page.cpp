#include "night/night_page.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <optional>
#include <set>

#include "core/words.h"
#include "draw/xml_text.h"
#include "files/name_text.h"
#include "night/courses.h"
#include "night/page_assets.h"
#include "night/page_parts.h"
#include "report/assets.h"
#include "report/hash_source.h"
#include "report/link.h"

namespace lull::night {

namespace {

using draw::xml_text;

constexpr std::string_view kFirstScript = "document.documentElement.classList.add(\"js\");";

std::string style() { return fmt::format("\n{}\n{}", report::assets::kLookCss, page::kNightCss); }

std::string head() {
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"generator\" content=\"Lull {}\">\n<link rel=\"icon\" href=\"data:,\">\n"
      "<title>Night</title>\n<style>{}</style>\n<script>{}</script>\n</head>\n",
      page_policy(), LULL_VERSION, style(), kFirstScript);
}

std::size_t count_of(const Summary& summary, bool done) {
  return static_cast<std::size_t>(
      std::count_if(summary.records.begin(), summary.records.end(),
                    [done](const Record& one) { return one.done == done; }));
}

std::string masthead(const Summary& summary) {
  std::string dates;
  for (const Record& record : summary.records) {
    if (record.when.empty()) continue;
    const std::string day = record.when.substr(0, 10);
    if (dates.empty()) dates = day;
    if (day != dates.substr(0, 10)) dates = dates.substr(0, 10) + " to " + day;
  }
  std::string text = "<body>\n<a class=\"skip\" href=\"#pictures\">To the pictures</a>\n<header>\n";
  text += fmt::format("<h1>Night{}</h1>\n", dates.empty() ? "" : " of " + xml_text(dates));
  text += fmt::format("<p class=\"counts\"><span><b>{}</b> done</span>", count_of(summary, true));
  if (const std::size_t failed = count_of(summary, false); failed > 0)
    text += fmt::format("<span><b>{}</b> failed</span>", failed);
  if (!summary.left_out.empty())
    text += fmt::format("<span><b>{}</b> left out</span>", summary.left_out.size());
  text += "</p>\n";
  std::set<std::string> cautions;
  for (const Record& record : summary.records) {
    if (!record.caution.empty()) cautions.insert(record.caution);
  }
  for (const std::string& caution : cautions)
    text += fmt::format("<p class=\"caution\">{}</p>\n", xml_text(caution));
  return text + "</header>\n<main>\n";
}

std::string resolution_text(const Record& record) {
  if (const auto arcsec = figure(record, "resolution_arcsec"))
    return fmt::format("{:.2f}″", *arcsec);
  if (const auto px = figure(record, "resolution_px")) return fmt::format("{:.2f} px", *px);
  return "none";
}

std::string moment_text(const std::string& when) {
  if (when.size() < 19) return "not known";
  return when.substr(0, 10) + " " + when.substr(11, 5) + " UTC";
}

std::string with_stop(const std::string& text) {
  return text.empty() || text.ends_with('.') ? text : text + ".";
}

std::string sentence(std::string text) {
  if (text.empty()) return text;
  text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return with_stop(text);
}

std::string heading(const std::string& name, const std::string& link) {
  const std::filesystem::path path(name);
  const std::string shown = name_html(path.filename().string());
  std::string text = "<h3>";
  text += link.empty() ? shown : fmt::format("<a href=\"{}\">{}</a>", link, shown);
  text += "</h3>";
  if (path.has_parent_path())
    text += fmt::format("<p class=\"also\">{}</p>", name_html(path.parent_path().string()));
  return text;
}

std::string listed_pictures(const Summary& summary, const std::vector<std::string>& names) {
  constexpr std::size_t kMostListed = 8;
  std::string text;
  for (std::size_t i = 0; i < std::min(names.size(), kMostListed); ++i) {
    const auto found = std::find_if(summary.records.begin(), summary.records.end(),
                                    [&](const Record& one) { return one.name == names[i]; });
    if (!text.empty()) text += ", ";
    text +=
        found == summary.records.end()
            ? name_html(names[i])
            : fmt::format("<a href=\"#{}\">{}</a>", link_id(summary, *found), name_html(names[i]));
  }
  if (names.size() > kMostListed) text += fmt::format(" and {} more", names.size() - kMostListed);
  return text;
}

std::string figures_list(const Summary& summary, const Record& record) {
  std::string text = "<dl>";
  const auto add = [&](const char* name, const std::string& value) {
    text += fmt::format("<dt>{}</dt><dd>{}</dd>", name, value);
  };
  add("Recorded", moment_text(record.when));
  if (!record.object.empty()) add("Object", xml_text(record.object));
  if (!record.filter.empty()) add("Filter", name_html(record.filter));
  add("Resolution", resolution_text(record));
  add("Kept", fmt::format("{} of {} frames", record.figures.value("kept", 0),
                          record.figures.value("frames", 0)));
  if (!record.parts.empty()) add("Merged of", listed_pictures(summary, record.parts));
  if (const auto air = figure(record, "d_over_r0")) add("Air, D/r0", fmt::format("{:.1f}", *air));
  return text + "</dl>";
}

std::string data_of(const Record& record) {
  const auto number = [&](const char* name) {
    const auto value = figure(record, name);
    return value ? fmt::format("{:g}", *value) : std::string();
  };
  // Pixels of one instrument say nothing of those of another: arcseconds and pixels are not mixed.
  const bool in_arcsec = !number("resolution_arcsec").empty();
  const std::string resolution = number(in_arcsec ? "resolution_arcsec" : "resolution_px");
  const std::string name = files::name_text(record.name);
  return fmt::format(
      " data-name=\"{}\" data-resolution=\"{}\" data-unit=\"{}\" data-kept=\"{}\" data-air=\"{}\" "
      "data-group=\"{}\" "
      "data-words=\"{}\"",
      xml_text(name), resolution, in_arcsec ? "arcsec" : "px", number("kept"), number("d_over_r0"),
      xml_text(record.done ? record.object : "failed"),
      xml_text(fmt::format("{} {} {} {}", name, record.object, files::name_text(record.filter),
                           record.when)));
}

std::string entry(const Summary& summary, const Record& record, const NightFolder& place) {
  const std::string report =
      std::filesystem::path(place.picture(record.name)).replace_extension(".html").string();
  std::string text = fmt::format("<li id=\"{}\"{}{}>", link_id(summary, record),
                                 record.done ? "" : " class=\"failed\"", data_of(record));
  if (!record.done) {
    text += heading(record.name, {});
    text += fmt::format("<p class=\"why\"><b>Failed.</b> {}",
                        xml_text(with_stop(files::utf8_text(record.problem))));
    if (!record.remedy.empty()) text += " " + xml_text(sentence(files::utf8_text(record.remedy)));
    return text + fmt::format("</p><p class=\"why\"><a href=\"{}\">Log</a></p></li>\n",
                              report::relative_link(place.log(record.name), place.page()));
  }
  const std::string link = report::relative_link(report, place.page());
  text += fmt::format(
      "<a class=\"shown\" href=\"{}\"><img src=\"{}\" alt=\"{}: the finished picture\" "
      "loading=\"lazy\"></a>{}{}</li>\n",
      link, xml_text(record.picture), xml_text(files::name_text(record.name)),
      heading(record.name, link), figures_list(summary, record));
  return text;
}

// Whether the optics are known of some pictures alone.
bool mixes_units(const Summary& summary) {
  bool in_arcsec = false;
  bool in_px = false;
  for (const Record& record : summary.records) {
    if (figure(record, "resolution_arcsec")) {
      in_arcsec = true;
    } else if (figure(record, "resolution_px")) {
      in_px = true;
    }
  }
  return in_arcsec && in_px;
}

std::string sort_form(const Summary& summary) {
  std::set<std::string> groups;
  for (const Record& record : summary.records) {
    if (record.done && !record.object.empty()) groups.insert(record.object);
  }
  std::string text =
      "<form class=\"sort\"><label>Order<select name=\"order\"><option value=\"time\">time"
      "</option><option value=\"name\">name</option><option value=\"resolution\">finest first";
  if (mixes_units(summary)) text += ", those in arcsec before px";
  text +=
      "</option><option value=\"air\">steadiest air first</option><option value=\"kept\">most "
      "frames first</option></select></label><label>Show<select name=\"group\"><option value=\"\">"
      "all</option>";
  for (const std::string& group : groups)
    text += fmt::format("<option>{}</option>", xml_text(group));
  if (count_of(summary, false) > 0) text += "<option>failed</option>";
  return text +
         "</select></label><label>Words<input name=\"words\" type=\"search\" "
         "autocomplete=\"off\"></label><output></output></form>\n";
}

std::string sheet(const Summary& summary, const NightFolder& place) {
  std::string text = "<section id=\"pictures\"><h2>Pictures</h2>\n" + sort_form(summary);
  text += "<ul class=\"sheet\">\n";
  for (const Record& record : summary.records) text += entry(summary, record, place);
  return text + "</ul></section>\n";
}

std::string next_time(const Summary& summary) {
  const std::vector<Advice> advice = advice_of(summary);
  if (advice.empty()) return {};
  std::string text = "<section><h2>Next time</h2>\n<ul class=\"next\">\n";
  for (const Advice& one : advice) {
    text += fmt::format(
        "<li><b>{}</b> {}<div class=\"also\">{}: {}</div></li>\n",
        xml_text(sentence(one.finding.next)),
        xml_text(one.pictures.size() > 1 ? "For instance: " + with_stop(one.finding.what)
                                         : sentence(one.finding.what)),
        counted(static_cast<std::int64_t>(one.pictures.size()), "picture"),
        listed_pictures(summary, one.pictures));
  }
  return text + "</ul></section>\n";
}

std::string sets_and_left_out(const Summary& summary) {
  std::string text;
  if (!summary.sets.empty()) {
    text += "<section><h2>What belongs together</h2>\n<ul class=\"plain\">\n";
    for (const Set& set : summary.sets)
      text += fmt::format("<li>{}: {}</li>\n", xml_text(files::utf8_text(set.why)),
                          listed_pictures(summary, set.pictures));
    text += "</ul></section>\n";
  }
  if (!summary.left_out.empty()) {
    text += "<section><h2>Left out</h2>\n<ul class=\"plain\">\n";
    for (const LeftOut& one : summary.left_out)
      text += fmt::format("<li>{}</li>\n", xml_text(files::utf8_text(one.text())));
    text += "</ul></section>\n";
  }
  return text;
}

}  // namespace

std::string page_policy() {
  return fmt::format(
      "default-src 'none'; img-src data:; style-src {}; script-src {} {}; base-uri 'none'; "
      "form-action 'none'",
      report::hash_source(style()), report::hash_source(kFirstScript),
      report::hash_source(page::kNightJs));
}

std::string night_page(const Summary& summary, const NightFolder& place) {
  std::string text = head() + masthead(summary) + sheet(summary, place) + courses_html(summary) +
                     next_time(summary) + sets_and_left_out(summary);
  text += fmt::format(
      "<p class=\"note\">The same figures: <a href=\"{0}\">{0}</a>, <a href=\"{1}\">{1}</a></p>\n"
      "</main>\n<footer><p class=\"soft\">Lull {2}</p></footer>\n<script>{3}</script>\n</body>\n"
      "</html>\n",
      "night.csv", "night.json", LULL_VERSION, page::kNightJs);
  return text;
}

}  // namespace lull::night
