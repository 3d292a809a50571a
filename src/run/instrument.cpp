#include "run/instrument.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

const std::string kNoFilter = "none";
constexpr std::size_t kLongestFilter = 40;  // bytes: a FITS card holds it

std::string parse_filter(const std::string& text) {
  if (text == kNoFilter) return {};
  if (text.empty() || text.size() > kLongestFilter)
    throw invalid_value("--filter", text, "a name of 1 to 40 bytes");
  return text;
}

}  // namespace

std::optional<health::Optics> Instrument::optics() const {
  if (aperture_mm == 0) return std::nullopt;
  return health::Optics{aperture_mm, focal_length_mm, pixel_um, wavelength_nm};
}

OptionTable<Instrument> instrument_options() {
  const auto row = [](const char* name, const char* value, const char* help,
                      std::vector<std::string> needs, double Instrument::*member,
                      const NumberRange& range, std::string earlier) {
    return number_option<Instrument>({.name = name,
                                      .value = value,
                                      .group = OptionGroup::instrument,
                                      .help = help,
                                      .in_recipe = InRecipe::may_change,
                                      .earlier = std::move(earlier),
                                      .needs = std::move(needs)},
                                     member, range);
  };
  OptionTable<Instrument> table;
  table.push_back(row("--aperture", "MM", "Diameter of the telescope, mm",
                      {"--focal-length", "--pixel"}, &Instrument::aperture_mm, {10, 20000, "mm"},
                      "0"));
  table.back().facts.card = "APERTURE";
  table.back().facts.card_comment = "[mm] option: diameter of the telescope";
  table.push_back(row("--focal-length", "MM", "Effective focal length, with extenders, mm",
                      {"--aperture", "--pixel"}, &Instrument::focal_length_mm, {10, 1e6, "mm"},
                      "0"));
  table.push_back(row("--pixel", "UM", "Side of a pixel, um", {"--aperture", "--focal-length"},
                      &Instrument::pixel_um, {0.5, 100, "um"}, "0"));
  table.push_back(row("--wavelength", "NM", "Wavelength of the light, nm; 550 by default",
                      {"--aperture", "--focal-length", "--pixel"}, &Instrument::wavelength_nm,
                      {200, 5000, "nm"}, "550"));
  table.push_back(parsed_option<Instrument>(
      {.name = "--filter",
       .value = "none|NAME",
       .group = OptionGroup::instrument,
       .help = "Name of the filter; with --profile it gives the wavelength",
       .in_recipe = InRecipe::may_change,
       .earlier = kNoFilter,
       .card = "FILTER",
       .card_comment = "option: name of the filter"},
      &Instrument::filter, parse_filter,
      [](const std::string& name) { return name.empty() ? kNoFilter : name; }));
  return table;
}

std::optional<health::Optics> enlarged(std::optional<health::Optics> optics, double scale) {
  if (optics) optics->pixel_um /= scale;
  return optics;
}

}  // namespace lull::run
