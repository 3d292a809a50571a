#include "calibrate/master_check.h"

#include <doctest/doctest.h>

#include "core/error.h"
#include "support/frames.h"
#include "support/masters.h"
#include "support/memory_capture.h"
#include "support/text.h"

using namespace lull;
using namespace lull::test;
using calibrate::check_fits;
using calibrate::MasterKind;
using capture::CaptureInfo;
using capture::Cfa;

TEST_SUITE("calibrate/master_check") {
  namespace {

  constexpr Size kSize{16, 8};

  calibrate::Master level_master(const CaptureInfo& info, std::uint16_t level) {
    const std::size_t planes = info.colour == capture::Colour::rgb ? 3 : 1;
    CaptureInfo named = info;
    named.path = "master";
    return master_of(named, Samples(planes * 128, level));
  }

  /// The message of the refusal; empty where the master is accepted.
  std::string refusal(const CaptureInfo& lights, MasterKind kind, const calibrate::Master& master) {
    try {
      check_fits(lights, kind, master);
    } catch (const InputError& error) {
      CHECK(error.status() == ExitStatus::unreadable_input);
      return error.what();
    }
    return {};
  }

  }  // namespace

  TEST_CASE("another size is refused with both sizes") {
    const auto lights = mono_info({24, 8}, 12);
    auto master = level_master(mono_info(kSize, 12), 100);
    const std::string message = refusal(lights, MasterKind::dark, master);
    CHECK(message.find("16 x 8") != std::string::npos);
    CHECK(message.find("24 x 8") != std::string::npos);
    CHECK(message.find("dark") != std::string::npos);
  }

  TEST_CASE("another mosaic and another kind of colour are refused") {
    const auto rggb = mosaic_info(kSize, 12, Cfa::rggb);
    const std::string message =
        refusal(rggb, MasterKind::flat, level_master(mosaic_info(kSize, 12, Cfa::bggr), 100));
    CHECK(message.find("RGGB") != std::string::npos);
    CHECK(message.find("BGGR") != std::string::npos);
    CHECK(!refusal(rggb, MasterKind::flat, level_master(rgb_info(kSize, 12), 100)).empty());
    CHECK(!refusal(mono_info(kSize, 12), MasterKind::flat, level_master(rggb, 100)).empty());
    CHECK(!refusal(rgb_info(kSize, 12), MasterKind::dark, level_master(mono_info(kSize, 12), 100))
               .empty());
    CHECK(refusal(rggb, MasterKind::flat, level_master(rggb, 100)).empty());
  }

  TEST_CASE("a mono picture is read as a mosaic, with a note") {
    const auto notes = check_fits(mosaic_info(kSize, 12, Cfa::gbrg), MasterKind::flat,
                                  level_master(mono_info(kSize, 12), 100));
    CHECK(has_note(notes, "GBRG"));
  }

  TEST_CASE("8 bits against 16 are refused both ways, with both numbers") {
    for (const int bits : {8, 12}) {
      const std::string message = refusal(mono_info(kSize, bits), MasterKind::flat,
                                          level_master(mono_info(kSize, bits == 8 ? 12 : 8), 100));
      CHECK(message.find("16") != std::string::npos);
      CHECK(message.find(bits == 8 ? "the capture 8" : "stores 8 bits") != std::string::npos);
    }
  }

  TEST_CASE("bits at the other end of the word are refused") {
    const auto low = mono_info(kSize, 12);
    const auto high = high_aligned(mono_info(kSize, 12));
    CHECK(!refusal(high, MasterKind::dark, level_master(low, 0x123)).empty());
    CHECK(!refusal(low, MasterKind::flat, level_master(high, 0x1230)).empty());
    CHECK(refusal(high, MasterKind::flat, level_master(high, 0x1230)).empty());
    CHECK(refusal(low, MasterKind::flat, level_master(low, 0x123)).empty());
  }

  TEST_CASE("a dark too dim to show where its bits stand is accepted") {
    // Its samples are 0, 16 or 32 of a 12-bit camera at the high end: judged as low end.
    const auto high = high_aligned(mono_info(kSize, 12));
    CHECK(refusal(high, MasterKind::dark, level_master(mono_info(kSize, 12), 32)).empty());
  }

  TEST_CASE("a dark beyond the capture's full scale is refused, a deeper flat is noted") {
    const auto lights = mono_info(kSize, 12);
    const auto deep = level_master(mono_info(kSize, 16), 5000);
    const std::string message = refusal(lights, MasterKind::dark, deep);
    CHECK(message.find("16 bits") != std::string::npos);
    CHECK(message.find("12") != std::string::npos);
    CHECK(has_note(check_fits(lights, MasterKind::flat, deep), "16 bits"));
    // Estimated deeper, but within: the number of bits of a dark is only an estimate.
    CHECK(refusal(mono_info(kSize, 10), MasterKind::dark, level_master(mono_info(kSize, 12), 900))
              .empty());
  }

  TEST_CASE("a single frame and damaged frames are noted") {
    const auto lights = mono_info(kSize, 12);
    auto master = level_master(lights, 100);
    CHECK(check_fits(lights, MasterKind::dark, master).empty());
    master.frames = 1;
    CHECK(has_note(check_fits(lights, MasterKind::dark, master), "single frame"));
    master.frames = 50;
    master.damaged = 3;
    CHECK(has_note(check_fits(lights, MasterKind::dark, master), "3 damaged"));
  }

  TEST_CASE("a dark of another exposure is noted where both are known, a flat has its own") {
    auto lights = mono_info(kSize, 12);
    lights.times.exposure_s = 0.02;
    auto master = level_master(lights, 100);
    CHECK(check_fits(lights, MasterKind::dark, master).empty());
    master.source.times.exposure_s = 0.0202;
    CHECK(check_fits(lights, MasterKind::dark, master).empty());  // rounded
    master.source.times.exposure_s = 0.0206;                      // 3% longer: bound 2%
    CHECK(has_note(check_fits(lights, MasterKind::dark, master), "exposed for 0.0206 s"));
    master.source.times.exposure_s = 0.05;
    CHECK(has_note(check_fits(lights, MasterKind::dark, master), "exposed for 0.05 s"));
    CHECK(check_fits(lights, MasterKind::flat, master).empty());
    master.source.times.exposure_s = 0;
    CHECK(check_fits(lights, MasterKind::dark, master).empty());
  }
}
