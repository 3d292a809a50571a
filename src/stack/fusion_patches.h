#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "core/parallel.h"
#include "core/plane.h"
#include "spectrum/fft.h"
#include "stack/contribution.h"
#include "stack/warped_frames.h"

namespace lull::stack {

/// Overlapping patches of registered frames and their spectra, relative to a reference: the frame
/// of FrequencyFusion. In each patch the transfer of a frame is estimated, H = <F S*> / <|S|^2>, F
/// and S being the spectra of frame and reference, < > the mean over the neighbouring frequencies,
/// which limits the blur that H can describe to a small area. The mean leaves out the frequency
/// itself and those beside it, which the window mixes in, so that the noise of F there, and the
/// reference's own error, do not enter H. A frame's own share of the reference is subtracted from
/// S.
class FusionPatches {
 public:
  /// Memory for one thread.
  struct Workspace {
    explicit Workspace(Size side) : fft(side), plane(side), frame(side), transfer(side) {}

    spectrum::Fft fft;
    Plane plane;
    spectrum::Spectrum frame;     ///< F
    spectrum::Spectrum transfer;  ///< H
  };

  /// @param reference  linear light, of a size for which FrequencyFusion::fits().
  /// @param weights    of the frames that made it, on the nodes of their fields.
  FusionPatches(PlaneView reference, const std::vector<std::vector<float>>& weights);

  /// Memory that patches of a picture of this size take, with the sums of the fusion.
  [[nodiscard]] static std::size_t bytes(Size size);

  /// The reference.
  [[nodiscard]] PlaneView picture() const { return reference_.view(); }

  [[nodiscard]] Size side() const { return side_; }

  [[nodiscard]] std::size_t count() const { return patches_.size(); }

  /// Upper left pixel of a patch.
  [[nodiscard]] Place corner(std::size_t patch) const { return patches_[patch].corner; }

  /// Bins of the half spectrum of a patch; the ring of each, and the number of bins of the whole
  /// spectrum that it represents.
  [[nodiscard]] std::size_t bins() const { return ring_.size(); }

  [[nodiscard]] std::size_t ring(std::size_t bin) const { return ring_[bin]; }

  [[nodiscard]] float multiplicity(std::size_t bin) const { return multiplicity_[bin]; }

  [[nodiscard]] std::size_t rings() const { return rings_; }

  /// Weight of a pixel of a patch; its square overlaps to an even sum.
  [[nodiscard]] float window(int x, int y) const {
    return across_[static_cast<std::size_t>(x)] * down_[static_cast<std::size_t>(y)];
  }

  [[nodiscard]] const spectrum::Spectrum& reference(std::size_t patch) const {
    return patches_[patch].reference;
  }

  /// Spectrum of a plane's patch, under the window.
  void transform(PlaneView from, std::size_t patch, Workspace& work, spectrum::Spectrum& out) const;

  /// Calls body_of(patch), and what that gives with (workspace with F and H, weight, half) for
  /// every frame, in the order given, their planes complete; patches run in parallel. The weight is
  /// the cover of the patch by the frame times the sharpness weight of the patch to the power of
  /// 0.7.
  template <class BodyOf>
  void for_each(const std::vector<Contribution>& batch, const WarpedFrames& frames,
                const BodyOf& body_of) const {
    parallel_for(static_cast<std::int64_t>(count()), [&](std::int64_t p) {
      const auto patch = static_cast<std::size_t>(p);
      const auto body = body_of(patch);
      Workspace work(side_);
      for (std::size_t n = 0; n < batch.size(); ++n) {
        const float weight = look_at(patch, batch[n], frames.view(n), work);
        if (weight > 0) body(std::as_const(work), weight, batch[n].half);
      }
    });
  }

 private:
  struct Patch {
    Place corner;
    spectrum::Spectrum reference;  ///< S
    std::vector<float> power;      ///< <|S|^2>
    float reference_weight = 0;    ///< of all frames of the reference
  };

  void index_rings();
  void add_reference(Patch& patch, const std::vector<std::vector<float>>& weights) const;
  [[nodiscard]] float look_at(std::size_t patch, const Contribution& part, PlaneView frame,
                              Workspace& work) const;
  void average_neighbours(spectrum::Spectrum& spectrum, Workspace& work) const;
  void transform(PlaneView from, Place corner, Workspace& work, spectrum::Spectrum& out) const;
  [[nodiscard]] float cover_of(const Patch& patch, const Contribution& part) const;
  [[nodiscard]] float weight_in(const Patch& patch, const std::vector<float>& weights) const;
  void find_transfer(const Patch& patch, float share, Workspace& work) const;

  Plane reference_;
  align::ShiftField shape_;
  Size side_;
  std::vector<float> across_, down_;  ///< window
  std::vector<float> lag_;            ///< what makes the mean over neighbours, in the lag domain
  std::size_t rings_ = 0;
  std::vector<std::uint16_t> ring_;
  std::vector<float> multiplicity_;
  std::vector<Patch> patches_;
};

}  // namespace lull::stack
