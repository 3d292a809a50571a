#include "judge/judge.h"

#include <doctest/doctest.h>

#include <chrono>
#include <cmath>

#include "core/error.h"
#include "judge/artifacts.h"
#include "judge/distortion.h"
#include "judge/report.h"
#include "judge/support.h"
#include "judge/transforms.h"
#include "support/text.h"

using namespace lull;
using namespace lull::judge;
using test::contains;

namespace {

Verdict judged(const Image& picture) {
  return judge::judge(test::picture_of({picture}), test::highland());
}

/// `scale` times as many pixels, band-limited: what reduced() undoes.
Image enlarged(const Image& image, int scale) {
  Image coefficients(image.width_px * scale, image.height_px * scale);
  const Image low = cosine(image);
  for (int y = 0; y < low.height_px; ++y) {
    for (int x = 0; x < low.width_px; ++x) coefficients.at(x, y) = low.at(x, y) * scale;
  }
  return inverse_cosine(coefficients);
}

Image unsharp_masked(const Image& image, double amount) {
  Image detail = difference(image, gaussian_blur(image, 2));
  for (double& sample : detail.samples) sample *= amount;
  return test::sum(image, detail);
}

Image with_tile(Image image, double offset) {
  for (int y = 90; y < 154; ++y) {
    for (int x = 100; x < 164; ++x) image.at(x, y) += offset;
  }
  return image;
}

std::string refusal(const Image& picture) {
  return test::message_of<InputError>([&] { static_cast<void>(judged(picture)); });
}

/// A colour truth of the highland: three channels of different brightness.
Truth colour_truth() {
  Truth truth = test::highland();
  std::vector<Image> channels;
  for (const double gain : {1.0, 0.8, 0.5}) {
    channels.push_back(applied({gain, 0}, test::highland().mean_samples));
  }
  truth.channels.clear();
  for (const Image& channel : channels) truth.channels.emplace_back(channel);
  truth.relative_wavelengths = {1.1, 1.0, 0.85};
  truth.mean_samples = mean_of(channels);
  truth.mean = Spline(truth.mean_samples);
  return truth;
}

}  // namespace

TEST_SUITE("judge/judge") {
  TEST_CASE("the truth judged against itself is perfect") {
    const Verdict verdict = judged(test::highland_picture());
    const ChannelVerdict& channel = verdict.channels.front();
    CHECK(verdict.scale == 1);
    CHECK(std::abs(verdict.shift.x_px) < 1e-4);
    CHECK(std::abs(verdict.shift.y_px) < 1e-4);
    CHECK(verdict.coverage > 0.98);
    CHECK(channel.measures.psnr > 100);
    CHECK(channel.measures.ssim > 0.999999);
    CHECK(channel.measures.frc_auc > 0.99999);
    CHECK(channel.measures.frc_f50 == 1);
    CHECK(channel.measures.psnr_best_radial > 100);
    CHECK(channel.distortion_rms_px < 1e-3);
    CHECK(channel.ringing < 1e-4);
    CHECK(channel.seam < 1e-4);
  }

  TEST_CASE("an enlarged truth is recognised, and its shift reported at scale 1") {
    const Displacement shift = {1.4, -0.8};
    const Image moved = test::displaced_highland([&](int, int) { return shift; });
    for (const int scale : {1, 2, 3}) {
      CAPTURE(scale);
      const Verdict verdict = judged(enlarged(moved, scale));
      CHECK(verdict.scale == scale);
      CHECK(std::abs(verdict.shift.x_px - shift.x_px) < 0.005);
      CHECK(std::abs(verdict.shift.y_px - shift.y_px) < 0.005);
      CHECK(verdict.channels.front().measures.psnr > 60);
    }
  }

  TEST_CASE("padding around a result changes nothing but its place") {
    const Image picture = gaussian_blur(test::highland_picture(), 1);
    Image padded(picture.width_px + 30, picture.height_px + 20);
    for (int y = 0; y < picture.height_px; ++y) {
      for (int x = 0; x < picture.width_px; ++x) padded.at(x + 11, y + 13) = picture.at(x, y);
    }
    CHECK(judged(padded).channels.front().measures.psnr ==
          doctest::Approx(judged(picture).channels.front().measures.psnr).epsilon(1e-9));
  }

  TEST_CASE(
      "the displacement of channels is reported to 0.01 px, and each is judged by its own truth") {
    const std::vector<Displacement> shifts = {{0.3, -0.4}, {0, 0}, {-0.7, 0.2}};
    std::vector<Image> channels;
    for (std::size_t c = 0; c < 3; ++c) {
      const double gain = std::vector<double>{1.0, 0.8, 0.5}[c];
      const Image moved = test::displaced_highland([&](int, int) { return shifts[c]; });
      channels.push_back(applied({gain, 0}, moved));
    }
    const Verdict verdict = judge::judge(test::picture_of(channels), colour_truth());
    REQUIRE(verdict.channels.size() == 3);
    const auto json = to_json(verdict)["channel_misregistration_px"];
    CHECK(std::abs(json["R_minus_G"][0].get<double>() - 0.3) < 0.01);
    CHECK(std::abs(json["R_minus_G"][1].get<double>() + 0.4) < 0.01);
    CHECK(std::abs(json["B_minus_G"][0].get<double>() + 0.7) < 0.01);
    CHECK(std::abs(json["B_minus_G"][1].get<double>() - 0.2) < 0.01);
    CHECK(std::abs(json["max"].get<double>() - std::hypot(0.7, 0.2)) < 0.01);
    for (const ChannelVerdict& channel : verdict.channels) {
      CHECK(std::abs(channel.measures.fit.gain - 1) < 0.05);
    }
  }

  TEST_CASE("what does not show the scene is refused") {
    const Image truth = test::highland_picture();
    CHECK(contains(refusal(test::noise({320, 240}, 1, 61)), "does not show"));
    CHECK(contains(refusal(Image(320, 240, 0.5)), "does not show"));
    CHECK(contains(refusal(crop(truth, {0, 0, 60, 60})), "overlap"));
    CHECK(contains(refusal(crop(truth, {0, 0, 20, 20})), "20 x 20"));
    CHECK(contains(refusal(test::noise({5000, 40}, 1, 62)), "5000 x 40"));
    Image turned(truth.size());
    for (int y = 0; y < truth.height_px; ++y) {
      for (int x = 0; x < truth.width_px; ++x) {
        turned.at(x, y) = truth.at(truth.width_px - 1 - x, truth.height_px - 1 - y);
      }
    }
    CHECK(contains(refusal(turned), "does not show"));
  }

  TEST_CASE("a truth of 640 x 480 px is judged, and the time it takes is printed") {
    // The scene at twice its size, so that it has as much detail to follow.
    Truth truth = test::highland();
    truth.mean_samples = enlarged(truth.mean_samples, 2);
    truth.mean = Spline(truth.mean_samples);
    truth.rim_px *= 2;
    truth.cutoff /= 2;
    truth.box = {2 * truth.box.x0, 2 * truth.box.y0, 2 * truth.box.x1, 2 * truth.box.y1};
    const Image picture = gaussian_blur(enlarged(test::highland_picture(), 2), 2);
    const auto start = std::chrono::steady_clock::now();
    const Verdict verdict = judge::judge(test::picture_of({picture}), truth);
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start;
    MESSAGE("640 x 480 px: " << spent.count() << " s");
    CHECK(verdict.scale == 1);
  }
}

TEST_SUITE("judge/artifacts") {
  TEST_CASE("ringing: 0 for a blur, a percent and more for unsharp masks, growing with them") {
    const Image truth = test::highland_picture();
    CHECK(judged(gaussian_blur(truth, 2)).channels.front().ringing < 1e-3);
    const double some = judged(unsharp_masked(truth, 0.5)).channels.front().ringing;
    const double much = judged(unsharp_masked(truth, 1.5)).channels.front().ringing;
    MESSAGE("unsharp mask 0.5: " << some << ", 1.5: " << much);
    CHECK(some > 0.005);
    CHECK(much > 0.03);
    CHECK(judged(unsharp_masked(truth, 1.5)).channels.front().seam < 1e-3);
  }

  TEST_CASE("ringing of one overshoot beside one straight edge is its mean over the contrast") {
    // An edge of contrast 1 with an overshoot of 0.1, one column wide, on either side. The band
    // holds the columns whose blurred slope is largest and 2 px on either side; the overshoot fills
    // two of at most 8 columns.
    Image truth(64, 64);
    Image picture(64, 64);
    for (int y = 0; y < 64; ++y) {
      for (int x = 0; x < 64; ++x) {
        truth.at(x, y) = x < 32 ? 0 : 1;
        picture.at(x, y) = truth.at(x, y) + (x == 31 ? -0.1 : x == 32 ? 0.1 : 0);
      }
    }
    const double found = ringing(truth, picture, 0.5);
    CHECK(found > 2 * 0.09 / 8);
    CHECK(found < 2 * 0.11 / 4);
    CHECK(ringing(truth, truth, 0.5) < 1e-12);
  }

  TEST_CASE("seams: a tile that is 1% off is reported with its height, in noise too") {
    const Image truth = test::highland_picture();
    const double peak = range_of(truth).highest;
    const double found = judged(with_tile(truth, 0.01 * peak)).channels.front().seam;
    CHECK(found > 0.008);
    CHECK(found < 0.011);
    const Image grain = test::noise(truth.size(), 0.002 * peak, 71);
    const double in_noise =
        judged(test::sum(with_tile(truth, 0.01 * peak), grain)).channels.front().seam;
    const double noise_alone = judged(test::sum(truth, grain)).channels.front().seam;
    MESSAGE("tile 1%: " << found << ", in noise of 0.2%: " << in_noise
                        << ", noise alone: " << noise_alone);
    CHECK(in_noise > 0.006);
    CHECK(noise_alone < 0.001);
    CHECK(judged(with_tile(truth, 0.01 * peak)).channels.front().ringing < 1e-3);
  }

  TEST_CASE("edge error: what is wrong near the edges is told apart from what is wrong inside") {
    const Image truth = test::highland_picture();
    const double peak = range_of(truth).highest;
    const EdgeError same = edge_error(truth, truth);
    CHECK(same.outer < 1e-9);
    CHECK(same.inside < 1e-9);
    Image rim = truth;
    Image middle = truth;
    for (int y = 0; y < truth.height_px; ++y) {
      for (int x = 0; x < truth.width_px; ++x) {
        const int edge = std::min({x, y, truth.width_px - 1 - x, truth.height_px - 1 - y});
        // +-1% by turns, so that gain and offset stay.
        const double wrong = ((x + y) % 2 == 0 ? 0.01 : -0.01) * peak;
        (edge < 8 ? rim : middle).at(x, y) += wrong;
      }
    }
    CHECK(edge_error(truth, rim).outer == doctest::Approx(0.01).epsilon(0.02));
    CHECK(edge_error(truth, rim).inside < 1e-9);
    CHECK(edge_error(truth, middle).inside == doctest::Approx(0.01).epsilon(0.02));
    CHECK(edge_error(truth, middle).outer < 2e-3);  // by the gain of the fit
  }
}
