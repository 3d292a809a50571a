#pragma once

#include <memory>
#include <optional>
#include <variant>
#include <vector>

#include "core/plane.h"
#include "finish/blur.h"
#include "finish/detail_curve.h"
#include "finish/frc_places.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"
#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// The channels of a picture with what lies beyond its edges.
struct Surroundings {
  std::vector<Plane> channels;
  Box picture;  ///< where it lies in them
};

/// Measurements on a stack, or any picture, that restoration needs: its noise, and the effect of
/// the air.
struct Measurements {
  std::vector<Plane> noise;  ///< of each channel, see half_difference(); empty = no halves
  std::optional<Surroundings> surroundings;  ///< none = nothing is known beyond the edges
  std::vector<Plane> weight;  ///< of each channel of an enlarged stack, for its file alone
  Plane covered;  ///< of a mosaic: 1 where a panel shows something, else 0; empty = everywhere
  std::vector<double> white_noise;              ///< of each channel, where there are no halves
  spectrum::FrcCurve frc;                       ///< of the luminance
  std::vector<FrcSquare> places;                ///< the same by place; empty = not measured
  std::vector<spectrum::RatioRing> ratio;       ///< to single frames; empty = not measured
  std::vector<spectrum::FilterPoint> sampling;  ///< left by it of the amplitude; empty = all
};

/// From the picture alone. @param channels  1 or 3, equal sizes, at least 16 px a side.
[[nodiscard]] Measurements measurements_of_picture(const std::vector<PlaneView>& channels);

/// Nothing to restore.
struct KeepDetail {};

/// Undo the blur that follows from the spectral ratio.
struct UndoAir {};

/// What the air has done to a stack, as the whole of it, or a part of a large one, tells.
struct KnownAir {
  Blur blur;
  /// The least light that restoring may leave in each channel; none where no sky tells it.
  std::vector<std::optional<float>> least_light;
};

/// Undo a Gaussian blur.
struct UndoGaussian {
  double fwhm_px = 0;
};

/// Of a field without sky, by its curves alone.
[[nodiscard]] KnownAir air_of_field(const Measurements& measured, std::size_t channels);

struct DetailPlan {
  std::variant<KeepDetail, UndoAir, KnownAir, UndoGaussian, DetailCurve> how;
  double restraint = 1;  ///< 1: only what is certain; 0: all that is asked for
};

struct Restored {
  std::vector<Plane> channels;
  std::vector<spectrum::FilterPoint> gains;  ///< empty: nothing was done
  std::optional<Blur> blur;                  ///< the air's, where that was undone
};

/// A picture that is restored several times, by different plans. One thread.
class PreparedRestoration {
 public:
  /// What is kept from one time to the next.
  enum class Keep {
    nothing,  ///< least memory
    all,      ///< 14 planes more for each channel; then only what a plan changes is done again
  };

  /// @param channels,measured  outlive this.
  PreparedRestoration(const std::vector<PlaneView>& channels, const Measurements& measured,
                      Keep keep);
  ~PreparedRestoration();
  PreparedRestoration(PreparedRestoration&&) noexcept;
  PreparedRestoration& operator=(PreparedRestoration&&) noexcept;

  /// As restore(), to the bit.
  [[nodiscard]] Restored restored(const DetailPlan& plan);

  /// What UndoAir undoes.
  [[nodiscard]] const KnownAir& air();

  /// Nearly the same of a part of the picture: see PreparedDetail.
  [[nodiscard]] Restored restored_part(const DetailPlan& plan, const Box& part);

 private:
  class Canvas;
  std::unique_ptr<Canvas> canvas_;
};

/// All channels get the same gains, limited by the FRC of the luminance, so that none gets sharper
/// edges than another. Each is limited by its own noise. Where the FRC is known by place, the
/// better of that and the whole's counts, frequency by frequency (weight_beyond()). The picture is
/// restored together with its surroundings, and these go on smoothly (spectrum::continued()), so
/// that it is right up to its edges.
/// @param channels  1 or 3, equal sizes; `measured` is theirs.
[[nodiscard]] Restored restore(const std::vector<PlaneView>& channels, const Measurements& measured,
                               const DetailPlan& plan);

}  // namespace lull::finish
