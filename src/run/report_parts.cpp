#include "run/report_parts.h"

#include <fmt/format.h>

#include <filesystem>

#include "capture/capture.h"
#include "files/name_text.h"
#include "report/fingerprint.h"
#include "report/link.h"
#include "run/repeat_command.h"
#include "spectrum/fft.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;
using report::Fact;

// In arcseconds where they are known.
Fact period_fact(const char* name, const Resolution& resolution, const std::string& meaning,
                 const std::string& threshold) {
  if (!resolution.period_arcsec || !resolution.cutoff_share)
    return {name, fmt::format("{:.2f} px", resolution.period_px), meaning, threshold};
  const std::string share = fmt::format("{:.0f}%", 100 * *resolution.cutoff_share);
  return {name, fmt::format("{:.2f}″", *resolution.period_arcsec), meaning,
          fmt::format("{:.2f} px, {} of the cutoff D/lambda; {}", resolution.period_px, share,
                      threshold)};
}

Fact resolution_fact(const spectrum::FrcCurve& frc, const std::optional<health::Optics>& optics) {
  const auto resolution = resolution_of(frc, optics);
  if (!resolution) {
    return {"Resolution", "none",
            "the half stacks share no detail; keep more frames, or record on a steadier night"};
  }
  const std::string meaning =
      fmt::format("details of {} and more are real", plain_length(*resolution));
  std::string threshold = "finest period on which the half stacks agree, FRC over 1/7";
  if (!optics) threshold += fmt::format("; {}", kOpticsHint);
  return period_fact("Resolution", *resolution, meaning, threshold);
}

Fact input_fact(const std::string& path) {
  const std::string name = files::name_text(path);
  std::error_code ignored;
  if (!fs::is_regular_file(path, ignored))
    return {name, "–", "numbered pictures or a folder: no checksum"};
  const auto print = report::fingerprint_of(path);
  if (print.coverage == report::Coverage::whole)
    return {name, print.sha256, fmt::format("all {} bytes", print.bytes)};
  const std::string word = shell_word(path);
  return {name, print.sha256,
          fmt::format("first and last MiB of {} bytes; to check: {{ head -c {} {}; tail -c {} {}; "
                      "}} | sha256sum",
                      print.bytes, report::kEndBytes, word, report::kEndBytes, word)};
}

}  // namespace

std::string plain_length(const Resolution& resolution) {
  if (resolution.period_arcsec) return fmt::format("{:.2f} arcsec", *resolution.period_arcsec);
  return fmt::format("{:.2f} px", resolution.period_px);
}

std::vector<Fact> resolution_facts(const spectrum::FrcCurve& frc,
                                   const std::optional<health::Optics>& optics) {
  std::vector<Fact> out = {resolution_fact(frc, optics)};
  if (const auto half = half_bit_resolution_of(frc, optics))
    out.push_back(period_fact("Resolution, strict", *half,
                              fmt::format("details of {} are beyond doubt", plain_length(*half)),
                              "by the stricter threshold, half a bit"));
  return out;
}

report::PictureToShow finished_to_show(const files::PictureView& picture, files::Transfer transfer,
                                       const finish::Levels& levels) {
  return {"Finished", "The finished picture, its detail restored", picture,
          transfer == files::Transfer::linear ? files::Transfer::linear : files::Transfer::screen,
          levels};
}

std::vector<Fact> input_facts(const std::vector<std::string>& paths) {
  std::vector<Fact> out;
  for (const std::string& path : paths) {
    if (!path.empty()) out.push_back(input_fact(path));
  }
  return out;
}

std::vector<Fact> result_facts(const std::vector<std::string>& written, const std::string& share,
                               const std::string& page) {
  std::vector<Fact> out;
  for (const std::string& path : written) {
    std::string what = "the picture";
    if (path.ends_with(".linear.fits")) what = "linear stack, 32-bit float";
    if (path.ends_with(".recipe.json")) what = "recipe: options and figures, repeats the run";
    if (path.ends_with(".finish.json")) what = "recipe: options and figures, repeats the finish";
    if (path == share) what = "copy to share: 8-bit, as screens show it";
    if (path == page) what = "this page";
    out.push_back({files::name_text(path), what, "", "", report::relative_link(path, page)});
  }
  return out;
}

report::SharedCopy shared_to_show(const files::PictureView& copy, const std::string& share,
                                  const std::string& page) {
  return {{files::name_text(share), "The copy to share, as it looks on a screen", copy,
           files::Transfer::screen},
          report::relative_link(share, page)};
}

std::vector<Fact> version_facts() {
  return {{"Lull", LULL_VERSION},
          {"Decoding", capture::decoder_version()},
          {"Fourier transforms", spectrum::fft_version()}};
}

Fact option_fact(const OptionFacts& facts, const nlohmann::json& value, bool given,
                 const std::string& followed) {
  const std::string text = files::utf8_text(option_text(value));
  const bool not_given = !given && (text.empty() || text == "0");
  return {facts.name, not_given ? "not given" : text, followed};
}

}  // namespace lull::run
