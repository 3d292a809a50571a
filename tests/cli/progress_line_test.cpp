#include "cli/progress_line.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <string>

namespace {

using lull::cli::ProgressLine;
using lull::cli::ProgressStyle;

/// Standard error goes into a pipe as long as this lives.
class CaughtErrors {
 public:
  CaughtErrors() : kept_(::dup(STDERR_FILENO)) {
    REQUIRE(::pipe(ends_.data()) == 0);
    ::dup2(ends_[1], STDERR_FILENO);
  }

  ~CaughtErrors() {
    ::dup2(kept_, STDERR_FILENO);
    for (const int end : {kept_, ends_[0], ends_[1]}) ::close(end);
  }

  CaughtErrors(const CaughtErrors&) = delete;
  CaughtErrors& operator=(const CaughtErrors&) = delete;

  /// The next line; empty when none comes within that time.
  std::string line(int most_ms) {
    std::string text;
    pollfd ready{ends_[0], POLLIN, 0};
    while (::poll(&ready, 1, most_ms) > 0) {
      char c = 0;
      if (::read(ends_[0], &c, 1) != 1 || c == '\n') break;
      text += c;
    }
    return text;
  }

 private:
  int kept_;
  std::array<int, 2> ends_{};
};

constexpr int kLongMs = 20000;  // a busy machine may be slow; nothing hangs on it

}  // namespace

TEST_SUITE("cli/progress_line") {
  TEST_CASE("while nothing arrives the line goes on, and ends with the work") {
    std::string opening;
    std::string first;
    std::string second;
    std::string after;
    {
      CaughtErrors errors;
      {
        ProgressLine line(ProgressStyle::words, {{"ranking", 1}},
                          {.live_s = 0.05, .plain_s = 0.05});
        opening = errors.line(kLongMs);
        line.show("ranking", 34, 500);  // and then the network stops
        do first = errors.line(kLongMs);
        while (first.starts_with("opening"));
        second = errors.line(kLongMs);
      }
      while (!errors.line(0).empty()) {
      }
      after = errors.line(200);
    }
    CHECK(opening.find("opening, nothing new for") == 0);
    CHECK(first.find("6%: ranking, nothing new for") == 0);
    CHECK(first.find(", 34 of 500 frames") != std::string::npos);
    CHECK(second.find("6%: ranking, nothing new for") == 0);
    CHECK(after.empty());
  }

  TEST_CASE("a narrow terminal gets fewer clauses, never part of a word") {
    const std::vector<std::string> clauses = {"96%, 1 s left: measuring the blur",
                                              "48 of 150 frames", "71 frames/s"};
    using lull::cli::fitted_line;
    CHECK(fitted_line(clauses, std::string::npos) ==
          "96%, 1 s left: measuring the blur, 48 of 150 frames, 71 frames/s");
    CHECK(fitted_line(clauses, 64) == fitted_line(clauses, std::string::npos));
    CHECK(fitted_line(clauses, 63) == "96%, 1 s left: measuring the blur, 48 of 150 frames");
    CHECK(fitted_line(clauses, 51) == "96%, 1 s left: measuring the blur, 48 of 150 frames");
    CHECK(fitted_line(clauses, 50) == "96%, 1 s left: measuring the blur");
    CHECK(fitted_line(clauses, 33) == "96%, 1 s left: measuring the blur");
    CHECK(fitted_line(clauses, 32) == "96%, 1 s left: measuring the");
    CHECK(fitted_line(clauses, 2) == "96");
  }

  TEST_CASE("quiet is quiet") {
    std::string text;
    {
      CaughtErrors errors;
      ProgressLine line(ProgressStyle::quiet, {{"ranking", 1}}, {.live_s = 0.02, .plain_s = 0.02});
      line.show("ranking", 34, 500);
      text = errors.line(200);
    }
    CHECK(text.empty());
  }
}
