#include "survey/frame_block.h"

#include <doctest/doctest.h>

#include <memory>
#include <set>
#include <utility>
#include <vector>

#include "support/memory_capture.h"

using namespace lull;

TEST_SUITE("survey/frame_block") {
  TEST_CASE("small frames come by 32, damaged ones among them, and the last block is short") {
    const Size size{8, 6};
    const std::vector<test::Samples> frames(40, test::Samples(48, 7));
    auto source = std::make_unique<test::MemoryCapture>(test::mono_info(size, 8), frames,
                                                        std::set<FrameIndex>{3, 39});
    capture::FrameStore store(std::move(source), 1U << 20);
    const survey::FrameBlock first = survey::read_block(store);
    CHECK(first.frames.size() == 31);
    CHECK(first.damaged == std::vector<FrameIndex>{3});
    CHECK(first.frames.back().index == 31);
    CHECK_FALSE(first.last);
    const survey::FrameBlock second = survey::read_block(store);
    CHECK(second.frames.size() == 7);
    CHECK(second.frames.front().index == 32);
    CHECK(second.damaged == std::vector<FrameIndex>{39});
    CHECK(second.last);
  }
}
