#pragma once

#include <complex>
#include <cstdint>
#include <vector>

#include "core/plane.h"
#include "spectrum/fft.h"
#include "stack/contribution.h"

namespace lull::stack {

/// Combines frames frequency by frequency, each by what it holds there. In overlapping patches of
/// the registered frames, the transfer of a frame relative to the reference is estimated,
///     H = <F S*> / <|S|^2>,
/// F and S being the spectra of frame and reference, < > the mean over the neighbouring
/// frequencies, which limits the blur that H can describe to a small area. Frames are then summed
/// as the matched filter says, sum q H* F / sum q |H|^2: amplitude, phase and residual shift of
/// each frame are allowed for, so that frames help at the frequencies at which they are good
/// (after Garrel, Guyon & Baudoz 2012, Publ. Astron. Soc. Pacific 124, 861, who select by
/// amplitude; multi-frame restoration with estimated transfer functions is Schulz 1993, J. Opt.
/// Soc. Am. A 10, 1064). q is the sharpness weight of the patch, its 0.7th power.
///
/// Four things keep it honest. The mean over neighbours leaves out the frequency itself and those
/// beside it, which the window mixes in, so that the noise of F there, and the reference's own
/// error, cannot make H. A frame's own share of the reference is taken off S. What the reference's
/// frames do not confirm of H is taken out: on rings of frequency, H is drawn towards its mean by
/// the factor with which the neighbours do predict F (a cross-validation). And what comes out is a
/// correction of the classic stack, which vanishes where the frames are alike.
class FrequencyFusion {
 public:
  /// @param reference  linear light, of a size that fits().
  /// @param weights    of the frames that made it, on the nodes of their fields.
  FrequencyFusion(PlaneView reference, const std::vector<std::vector<float>>& weights);

  /// Memory that a picture of this size takes.
  [[nodiscard]] static std::size_t bytes(Size size);

  /// Neither too small for a patch nor too large for any memory: up to 3840 x 2160 px. It follows
  /// from the size alone, so that the memory given decides nothing about the result.
  [[nodiscard]] static bool fits(Size size);

  /// Learns from the reference's frames how far H can be trusted.
  void learn(const std::vector<Contribution>& batch);

  /// After the last learn(): from here on frames are added.
  void set_trust();

  /// Adds frames, in the order given; patches run in parallel, so any number of threads gives the
  /// same sums.
  /// @param of_reference  so many, the first ones, have helped to make the reference.
  void add(const std::vector<Contribution>& batch, std::size_t of_reference);

  /// Brings the amplitudes to those of the classic stack of the same frames, ring by ring, so that
  /// what is known of its blur holds for the fused one. Before corrected().
  void set_level(PlaneView first_half, PlaneView second_half);

  /// The classic stack of the same frames, corrected. Of both halves, or of one.
  [[nodiscard]] Plane corrected(PlaneView stack) const;
  [[nodiscard]] Plane half_corrected(PlaneView half_stack, Half half) const;

 private:
  static constexpr int kLeastSide = 48;
  static constexpr std::size_t kMostBytes = std::size_t{640} << 20;

  struct Sums {
    std::vector<std::complex<float>> light;
    std::vector<float> power;
  };

  /// Sums over the reference's frames on a ring of frequencies.
  struct Evidence {
    double predicted = 0;  ///< q Re F (H S)*
    double matched = 0;    ///< q Re F S*
    double common = 0;     ///< q Re H |S|^2
    double reference = 0;  ///< q |S|^2
    double power = 0;      ///< q |H S|^2
  };

  struct Trust {
    float mean = 1;   ///< of H on the ring
    float share = 0;  ///< of what H deviates from it
  };

  struct Patch {
    int x = 0;
    int y = 0;
    spectrum::Spectrum reference;
    std::vector<float> power;  ///< <|S|^2>
    std::vector<Evidence> evidence;
    std::vector<Trust> trust;
    float reference_weight = 0;  ///< of all frames of the reference
    Sums halves[2];
  };

  struct Workspace;

  template <class Body>
  void for_patches(const std::vector<Contribution>& batch, std::size_t of_reference,
                   const Body& body);
  void transform(PlaneView from, const Patch& patch, Workspace& work,
                 spectrum::Spectrum& out) const;
  void spread(spectrum::Spectrum& spectrum, Workspace& work) const;
  void add_evidence(Patch& patch, const Workspace& work, float weight) const;
  void add_light(Patch& patch, const Workspace& work, float weight, Half half) const;
  [[nodiscard]] Plane corrected(PlaneView stack, bool first, bool second) const;
  [[nodiscard]] float cover_of(const Patch& patch, const Contribution& part) const;
  [[nodiscard]] float weight_in(const Patch& patch, const std::vector<float>& weights) const;
  void find_transfer(const Patch& patch, float share, Workspace& work) const;

  Size size_;
  Plane reference_;
  align::ShiftField shape_;
  Size side_;
  std::vector<float> across_, down_;  ///< window
  std::vector<float> lag_;            ///< what makes the mean over neighbours, in the lag domain
  std::vector<std::uint16_t> ring_;   ///< of each bin
  std::vector<float> multiplicity_;
  std::vector<Patch> patches_;
  std::vector<float> level_;  ///< by ring
};

}  // namespace lull::stack
