#include "app/finish_run.h"

#include <algorithm>

#include "app/linear_file.h"
#include "app/stack_cards.h"
#include "output/picture_file.h"

namespace lull::app {

namespace {

// 16-bit integers: the smallest power of two that holds the brightest pixel is white, so that
// values stay exact multiples and a dim capture keeps its levels.
output::Encoding encoding_for(const output::PictureView& picture) {
  float highest = 0;
  for (const PlaneView& plane : picture.channels) {
    for (int y = 0; y < plane.height_px; ++y)
      highest = std::max(highest, *std::max_element(plane.row(y), plane.row(y) + plane.width_px));
  }
  double white = 1;
  while (white < static_cast<double>(highest)) white *= 2;
  while (white > 1.0 / 256 && white / 2 >= static_cast<double>(highest)) white /= 2;
  return {0, white};
}

nlohmann::json gains_json(const std::vector<finish::FilterPoint>& gains) {
  nlohmann::json out = nlohmann::json::array();
  for (const finish::FilterPoint& point : gains)
    out.push_back({{"cycles_per_px", point.frequency}, {"gain", point.gain}});
  return out;
}

// Brings the colours into balance, as measured on the linear stack.
void balance_colours(const WhiteBalanceChoice& choice, const output::PictureView& stack,
                     Finished& out) {
  if (stack.channels.size() != 3) return;
  const auto factors =
      factors_for(choice, {stack.channels[0], stack.channels[1], stack.channels[2]});
  finish::balance(out.picture.channels, factors);
  out.figures["white_balance"] = factors;
}

}  // namespace

Finished finish_picture(const output::PictureView& stack, const finish::Evidence& evidence,
                        const FinishPlan& plan) {
  Finished out;
  finish::Restored restored = finish::restore(stack.channels, evidence, plan.detail);
  out.picture.channels = std::move(restored.channels);
  if (!restored.gains.empty()) out.figures["detail_gains"] = gains_json(restored.gains);
  if (restored.blur_core) out.figures["blur_core"] = *restored.blur_core;
  balance_colours(plan.white_balance, stack, out);
  out.encoding = encoding_for(out.picture.view());
  return out;
}

output::Clipped write_finished(const std::filesystem::path& path, const Finished& finished,
                               const std::vector<output::Card>& cards, const FinishOptions& options,
                               const finish::Evidence* evidence) {
  if (evidence != nullptr && output::format_of(path) == output::Format::fits) {
    write_linear(path, finished.picture.view(), cards, *evidence);
    return {};
  }
  output::Metadata metadata;
  metadata.description = describe_stack(cards, options.detail != "none");
  metadata.cards = cards;
  for (output::Card& card : finish_cards(options)) metadata.cards.push_back(std::move(card));
  return output::write_picture(path, finished.picture.view(), finished.encoding, metadata);
}

}  // namespace lull::app
