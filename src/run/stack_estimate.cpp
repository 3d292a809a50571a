#include "run/stack_estimate.h"

#include <algorithm>

#include "files/picture_file.h"
#include "run/enlargement.h"
#include "run/memory_need.h"
#include "run/run_share.h"
#include "stack/colour_frame.h"
#include "stack/frequency_fusion.h"

namespace lull::run {

namespace {

constexpr double kProgram_bytes = 100e6;  // without any picture
constexpr double kLinearPlanes = 3;       // the stack and its halves
constexpr double kTables_bytes = 64e3;    // beside them, and the recipe
constexpr double kPage_bytes = 150e3;     // measured on samples
constexpr double kPage_px_bytes = 3.5;
constexpr double kMostShown_px = 1e6;  // of a picture in a page

double picture_bytes(const StackRequest& request, double samples) {
  const bool is_float =
      !request.output.empty() && files::format_of(request.output) == files::Format::fits;
  return samples * (is_float ? sizeof(float) : sizeof(std::uint16_t));
}

double bytes_of_results(const StackRequest& request, const capture::CaptureInfo& info) {
  const double scale = request.stacking.scale;
  const double area_px = static_cast<double>(info.size.area_px()) * scale * scale;
  const double samples = area_px * (stack::has_colour(info) ? 3 : 1);
  double sum = picture_bytes(request, samples) + kTables_bytes;
  if (request.look.changes_picture(stack::has_colour(info)))
    sum += kLinearPlanes * sizeof(float) * samples;
  if (!request.report_path().empty())
    sum += kPage_bytes + kPage_px_bytes * std::min(area_px, kMostShown_px);
  return sum;
}

}  // namespace

double memory_of_stack(const Stacking& stacking, const capture::CaptureInfo& info) {
  const stack::Enlargement enlargement = enlargement_of(stacking);
  const bool fuses = stacking.fusion != FusionChoice::selection && enlargement.scale <= 1 &&
                     stack::FrequencyFusion::fits(info.size);
  return need_of_stack(info, fuses ? stack::Fusion::frequency : stack::Fusion::none) +
         need_of_enlargement(enlargement, info) +
         (stacking.derotate == DerotateChoice::automatic ? need_of_pieces(info) : 0);
}

StackEstimate estimate_stack(const StackRequest& request,
                             const std::vector<capture::CaptureInfo>& infos,
                             std::optional<double> ranking_s) {
  StackEstimate out;
  for (const capture::CaptureInfo& info : infos)
    out.memory_bytes = std::max(out.memory_bytes, memory_of_stack(request.stacking, info));
  out.memory_bytes += kProgram_bytes;
  out.results_bytes = bytes_of_results(request, infos.front());
  if (ranking_s) out.time_s = *ranking_s * RunShare(stages_of(request)).all();
  return out;
}

}  // namespace lull::run
