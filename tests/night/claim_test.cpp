#include "night/claim.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <fstream>
#include <thread>
#include <vector>

#include "core/error.h"
#include "files/atomic_file.h"
#include "night/night_folder.h"
#include "support/temporary_folder.h"

using namespace lull;
using lull::night::Claim;
using lull::night::NightFolder;

TEST_SUITE("night/claim") {
  TEST_CASE("one holder at a time, and nothing is left behind") {
    const test::TemporaryFolder folder;
    const std::string lock = folder.file("state/a.lock");
    {
      const auto mine = Claim::try_take(lock);
      REQUIRE(mine);
      CHECK_FALSE(Claim::try_take(lock));
      CHECK(Claim::holder(lock).find(std::to_string(getpid())) != std::string::npos);
      CHECK_FALSE(Claim::take(lock, {}, Claim::Holder::refuses));
    }
    CHECK(Claim::holder(lock).empty());
    CHECK(Claim::try_take(lock));
    CHECK(folder.names() == std::vector<std::string>{"state"});
    CHECK(std::filesystem::is_empty(folder / "state"));
  }

  TEST_CASE("the lock of a process that was killed is taken over at once") {
    const test::TemporaryFolder folder;
    const std::string lock = folder.file("a.lock");
    const pid_t child = fork();
    if (child == 0) {
      const auto held = Claim::try_take(lock);
      kill(getpid(), SIGKILL);
    }
    REQUIRE(child > 0);
    int status = 0;
    waitpid(child, &status, 0);
    REQUIRE(WIFSIGNALED(status));
    REQUIRE(std::filesystem::exists(lock));
    CHECK(Claim::holder(lock).empty());
    CHECK(Claim::take(lock, {}, Claim::Holder::refuses));
  }

  TEST_CASE("temporary files of a process that was killed go when the next night begins") {
    const test::TemporaryFolder folder;
    const NightFolder place(folder.file("out"));
    NightFolder::make_folder_of(place.log("deep/a"));
    const pid_t child = fork();
    if (child == 0) {
      const files::AtomicFile unfinished(place.log("deep/a"));
      kill(getpid(), SIGKILL);
    }
    REQUIRE(child > 0);
    int status = 0;
    waitpid(child, &status, 0);
    const std::filesystem::path logs = std::filesystem::path(place.log("deep/a")).parent_path();
    CHECK_FALSE(std::filesystem::is_empty(logs));
    const files::AtomicFile own(place.log("deep/b"));
    place.remove_left_files();
    const auto left = std::filesystem::directory_iterator(logs);
    CHECK(std::distance(std::filesystem::begin(left), std::filesystem::end(left)) == 1);
  }

  TEST_CASE("of many who find a deserted lock, one at a time has it") {
    const test::TemporaryFolder folder;
    const std::string lock = folder.file("a.lock");
    std::ofstream(lock) << "elsewhere 1 1 0\n";
    CHECK_FALSE(Claim::try_take(lock));  // of another machine: perhaps it lives
    char name[256] = {};
    REQUIRE(gethostname(name, sizeof name - 1) == 0);
    std::ofstream(lock) << name << " 999999999 1 0\n";
    std::atomic<int> inside{0};
    std::atomic<int> most{0};
    std::atomic<int> done{0};
    std::vector<std::jthread> threads;
    for (int i = 0; i < 4; ++i) {
      threads.emplace_back([&] {
        const auto claim = Claim::take(lock, {}, Claim::Holder::is_waited_for);
        const int now = ++inside;
        if (now > most) most = now;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
        --inside;
        ++done;
      });
    }
    threads.clear();
    CHECK(done == 4);
    CHECK(most == 1);
  }

  TEST_CASE("who waits can be cancelled, and a folder that cannot be written is reported") {
    const test::TemporaryFolder folder;
    const auto held = Claim::try_take(folder.file("a.lock"));
    CancelToken cancel;
    cancel.cancel();
    CHECK_THROWS_AS(
        static_cast<void>(Claim::take(folder.file("a.lock"), cancel, Claim::Holder::is_waited_for)),
        Interrupted);
    std::ofstream(folder.file("file")) << "x";
    CHECK_THROWS_AS(static_cast<void>(Claim::try_take(folder.file("file/a.lock"))), OutputError);
  }
}
