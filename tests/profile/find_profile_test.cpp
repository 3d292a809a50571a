#include "profile/find_profile.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "core/error.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::profile;

TEST_SUITE("profile/find_profile") {
  namespace {

  // A variable of the environment for a while.
  class Variable {
   public:
    Variable(const char* name, const std::string& value) : name_(name) {
      if (const char* earlier = std::getenv(name)) earlier_ = earlier;
      ::setenv(name, value.c_str(), 1);
    }

    ~Variable() { ::setenv(name_, earlier_.c_str(), 1); }

    Variable(const Variable&) = delete;
    Variable& operator=(const Variable&) = delete;

   private:
    const char* name_;
    std::string earlier_;
  };

  }  // namespace

  // XDG Base Directory Specification 0.8: a relative path in the variable is ignored.
  TEST_CASE("names are looked up in the folder for configuration") {
    const test::TemporaryFolder folder;
    const Variable home("HOME", folder.path());
    const Variable config("XDG_CONFIG_HOME", folder.file("config"));
    CHECK(profile_folder() == folder.file("config/lull/profiles"));
    std::filesystem::create_directories(profile_folder());
    std::ofstream(profile_folder() + "/ridge.toml") << "name = \"Ridge\"\n";
    CHECK(find_profile("ridge") == folder.file("config/lull/profiles/ridge.toml"));
    CHECK_THROWS_WITH_AS(static_cast<void>(find_profile("rigde")),
                         doctest::Contains("there are ridge. Did you mean ridge?"), UsageError);
    {
      const Variable relative("XDG_CONFIG_HOME", "config");
      CHECK(profile_folder() == folder.file(".config/lull/profiles"));
      CHECK_THROWS_WITH_AS(static_cast<void>(find_profile("ridge")),
                           doctest::Contains("there are none yet"), UsageError);
    }
  }

  TEST_CASE("a name with a slash or the ending is a path") {
    CHECK(find_profile("./ridge") == "./ridge");
    CHECK(find_profile("ridge.toml") == "ridge.toml");
  }
}
