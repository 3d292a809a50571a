#include "night/suited.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "capture/capture.h"
#include "core/error.h"
#include "core/words.h"
#include "run/globe_sight.h"
#include "run/object.h"
#include "stack/colour_frame.h"
#include "stack/frequency_fusion.h"

namespace lull::night {

namespace {

using capture::Capture;
using run::stack_options;
using run::StackRequest;

constexpr const char* kNotItsLight = "of objects whose colour is not published";

/// An option that some captures cannot have, and the way back to its default.
struct Row {
  const char* name;
  void (*reset)(StackRequest&);
};

constexpr std::array<Row, 3> kLayout = {
    {{"--cfa", [](StackRequest& one) { one.input.cfa.reset(); }},
     {"--byte-order", [](StackRequest& one) { one.input.byte_order = {}; }},
     {"--pixel-format", [](StackRequest& one) { one.input.pixel_format.clear(); }}}};
constexpr Row kWhiteBalance = {"--white-balance", [](StackRequest& one) {
                                 one.look.white_balance = run::Look{}.white_balance;
                               }};
constexpr std::array<Row, 3> kColours = {
    {kWhiteBalance,
     {"--saturation", [](StackRequest& one) { one.look.saturation = run::Look{}.saturation; }},
     {"--channel-offsets", [](StackRequest& one) { one.look.channel_offsets = {}; }}}};
constexpr Row kDerotate = {"--derotate", [](StackRequest& one) {
                             one.stacking.derotate = run::Stacking{}.derotate;
                             one.turning = {};  // has no meaning without it
                           }};
constexpr Row kFusion = {"--fusion",
                         [](StackRequest& one) { one.stacking.fusion = run::Stacking{}.fusion; }};

bool is_for_sunlight(const run::Look& look) {
  return look.white_balance == run::WhiteBalanceChoice(run::WhiteBalanceRule::sunlight) &&
         !run::published_colour(look.object);
}

bool is_derotated(const StackRequest& request) {
  const run::Object object = request.look.object == run::Object::unspecified
                                 ? run::object_in_names(request.input.captures)
                                 : request.look.object;
  if (object == run::Object::unspecified) return false;
  try {
    static_cast<void>(run::derotated_body(object));
    return true;
  } catch (const UsageError&) {
    return false;
  }
}

/// One request, and what is left out of it.
class Suiting {
 public:
  Suiting(StackRequest& request, const std::set<std::string>& kept)
      : request_(request), kept_(kept) {}

  std::vector<Unsuited> leave() {
    if (is_open(kDerotate) && !is_derotated(request_))
      leave(kDerotate, "of what is no planet that can be derotated");
    if (is_for_sunlight(request_.look)) leave(kWhiteBalance, kNotItsLight);
    for (const Row& row : kLayout) {
      if (is_open(row) && !fits_layout(row)) leave(row, "whose files contradict it");
    }
    const auto is_here = [this](const Row& row) { return is_open(row); };
    const bool has_more = is_open(kFusion) || is_open(kDerotate) ||
                          std::any_of(kColours.begin(), kColours.end(), is_here);
    if (has_more) leave_by_frames();
    return std::move(left_);
  }

 private:
  void leave_by_frames() {
    const auto capture =
        Capture::open(request_.input.capture(), run::open_options(request_.input, 1));
    const capture::CaptureTimes& times = capture->info().times;
    if (!times.known || !times.begun) leave(kDerotate, "whose frames state no time");
    if (!stack::has_colour(capture->info())) {
      for (const Row& row : kColours) leave(row, "without colours");
    }
    const bool is_by_frequency = request_.stacking.fusion == run::FusionChoice::frequency;
    if (is_by_frequency && !stack::FrequencyFusion::fits(capture->info().size))
      leave(kFusion, "whose frames are too small or too large for it");
  }

  // By itself, so that one that does not fit is told from another.
  [[nodiscard]] bool fits_layout(const Row& row) const {
    const auto& option = run::option_named(stack_options(), row.name);
    StackRequest alone;
    option.set(alone, run::option_text(option.get(request_)));
    try {
      static_cast<void>(Capture::open(request_.input.capture(), run::open_options(alone.input, 1)));
      return true;
    } catch (const UsageError&) {
      return false;
    }
  }

  // Whether it is given, for all pictures.
  [[nodiscard]] bool is_open(const Row& row) const {
    return !kept_.contains(row.name) &&
           is_given(run::option_named(stack_options(), row.name), request_);
  }

  void leave(const Row& row, const std::string& why) {
    if (!is_open(row)) return;
    const auto& option = run::option_named(stack_options(), row.name);
    left_.push_back(
        {{}, fmt::format("{} {}", row.name, run::option_text(option.get(request_))), why});
    row.reset(request_);
  }

  StackRequest& request_;
  const std::set<std::string>& kept_;
  std::vector<Unsuited> left_;
};

}  // namespace

std::vector<Unsuited> leave_unsuited(StackRequest& request, const std::set<std::string>& kept) {
  if (request.input.captures.empty()) return {};
  Suiting suiting(request, kept);
  try {
    return suiting.leave();
  } catch (const InputError&) {
    return {};
  } catch (const NothingUsable&) {
    return {};
  }
}

std::vector<Unsuited> leave_unsuited(run::MergeRequest& request,
                                     const std::set<std::string>& kept) {
  if (!is_for_sunlight(request.look) || kept.contains(kWhiteBalance.name)) return {};
  request.look.white_balance = run::Look{}.white_balance;
  return {{{}, "--white-balance sunlight", kNotItsLight}};
}

std::vector<std::string> notes_of(const std::vector<Unsuited>& all) {
  constexpr std::size_t kMostNames = 5;
  std::map<std::pair<std::string, std::string>, std::vector<std::string>> pictures;
  for (const Unsuited& one : all) pictures[{one.option, one.why}].push_back(one.picture);
  std::vector<std::string> notes;
  notes.reserve(pictures.size());
  for (auto& [what, names] : pictures) {
    const auto count = static_cast<std::int64_t>(names.size());
    std::sort(names.begin(), names.end());
    names.resize(std::min(names.size(), kMostNames));
    const bool has_more = static_cast<std::size_t>(count) > names.size();
    notes.push_back(fmt::format("{} is left out for {} {}: {}{}", what.first,
                                counted(count, "picture"), what.second, fmt::join(names, ", "),
                                has_more ? " ..." : ""));
  }
  return notes;
}

}  // namespace lull::night
