#pragma once

#include <optional>
#include <string>
#include <vector>

#include "files/picture.h"
#include "report/page.h"
#include "run/option.h"
#include "run/resolution.h"

namespace lull::run {

// What the reports of `stack` and `finish` have in common.

/// "0.71 arcsec", or pixels.
[[nodiscard]] std::string plain_length(const Resolution& resolution);

/// The finest detail that both half stacks show, by both thresholds.
[[nodiscard]] std::vector<report::Fact> resolution_facts(
    const spectrum::FrcCurve& frc, const std::optional<health::Optics>& optics);

/// The last picture of a page, the result: light, or values from 0 to 1 as screens show them.
[[nodiscard]] report::PictureToShow finished_to_show(const files::PictureView& picture,
                                                     files::Transfer transfer,
                                                     const finish::Levels& levels);

/// Files that were read, with checksums. Empty names are passed over.
[[nodiscard]] std::vector<report::Fact> input_facts(const std::vector<std::string>& paths);

/// Files that the run wrote, each with its link. @param page  the report's.
[[nodiscard]] std::vector<report::Fact> result_facts(const std::vector<std::string>& written,
                                                     const std::string& share,
                                                     const std::string& page);

/// The shared copy, to be shown. @param copy  must outlive it.
[[nodiscard]] report::SharedCopy shared_to_show(const files::PictureView& copy,
                                                const std::string& share, const std::string& page);

[[nodiscard]] std::vector<report::Fact> version_facts();

/// "--keep" as a line of the page. @param followed  what the program made of it, may be empty.
[[nodiscard]] report::Fact option_fact(const OptionFacts& facts, const nlohmann::json& value,
                                       bool given, const std::string& followed);

/// All options but the results that the page names by themselves: those that were chosen, and those
/// a recipe holds that were not. @param followed  std::string(const std::string& name).
template <class Request, class Followed>
void add_options(const OptionTable<Request>& table, const Request& request,
                 const Followed& followed, report::Contents& contents) {
  for (const Option<Request>& option : table) {
    const OptionFacts& facts = option.facts;
    if (facts.by_place() || facts.short_name == "-o") continue;
    const bool given = is_given(option, request);
    if (!given && facts.in_recipe == InRecipe::no) continue;
    (given ? contents.chosen : contents.defaults)
        .push_back(option_fact(facts, option.get(request), given, followed(facts.name)));
  }
}

}  // namespace lull::run
