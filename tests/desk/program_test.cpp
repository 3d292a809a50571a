// Covers: cli/desk_verb
#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "desk/client.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("desk/program") {
  namespace {

  using namespace lull::test;
  using namespace std::chrono_literals;
  using nlohmann::json;
  namespace fs = std::filesystem;

  /// `lull desk` as a process of its own.
  class Program {
   public:
    explicit Program(std::vector<std::string> arguments) {
      std::array<int, 2> ends{};
      REQUIRE(::pipe2(ends.data(), O_CLOEXEC) == 0);
      std::vector<std::string> words = {std::string(LULL_PROGRAMS) + "/lull", "desk", "--no-open"};
      words.insert(words.end(), arguments.begin(), arguments.end());
      child_ = ::fork();
      if (child_ == 0) {
        ::dup2(ends[1], STDOUT_FILENO);
        std::vector<char*> pointers;
        for (std::string& word : words) pointers.push_back(word.data());
        pointers.push_back(nullptr);
        ::execv(pointers[0], pointers.data());
        ::_exit(127);
      }
      ::close(ends[1]);
      for (char c = 0; ::read(ends[0], &c, 1) == 1 && c != '\n';) address_ += c;
      ::close(ends[0]);
    }

    ~Program() {
      if (child_ > 0) static_cast<void>(end(SIGKILL));
    }

    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;

    [[nodiscard]] Client client() const { return Client(address_); }

    [[nodiscard]] const std::string& address() const { return address_; }

    /// @return exit status; 128 + signal when a signal ended it.
    int end(int signal_number) {
      ::kill(child_, signal_number);
      int status = 0;
      ::waitpid(child_, &status, 0);
      child_ = 0;
      return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    }

    [[nodiscard]] long resident_kib() const {
      std::ifstream file("/proc/" + std::to_string(child_) + "/status");
      for (std::string line; std::getline(file, line);) {
        if (line.starts_with("VmRSS:")) return std::stol(line.substr(6));
      }
      return 0;
    }

   private:
    pid_t child_ = 0;
    std::string address_;
  };

  std::string only_capture(const Client& client) {
    for (int i = 0; i < 100; ++i) {
      const json list = client.get("/api/captures").json();
      if (list.at("complete") == true) return list.at("captures")[0].at("id");
    }
    return {};
  }

  double seconds_since(std::chrono::steady_clock::time_point begin) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  }

  }  // namespace

  TEST_CASE("lull desk prints its address, answers there, is small, and ends at Ctrl-C") {
    const TemporaryFolder folder;
    fs::copy_file(sample("highland.mkv"), folder / "highland.mkv");
    Program program({folder.path()});
    CHECK(program.address().starts_with("http://127.0.0.1:"));
    CHECK(program.client().get("/api/desk").status == 200);
    CHECK(program.client().get("/api/captures").json().at("captures").size() == 1);
    if (kOwnMemory) CHECK(program.resident_kib() < 60 * 1024);
    const auto begin = std::chrono::steady_clock::now();
    CHECK(program.end(SIGINT) == 0);
    CHECK(seconds_since(begin) < 1);
    CHECK(folder.names() == std::vector<std::string>{"highland.mkv"});
  }

  TEST_CASE("Ctrl-C during a job and with pages that listen ends within a second, with 130") {
    const TemporaryFolder folder;
    fs::copy_file(sample("granules.mkv"), folder / "granules.mkv");
    Program program({folder.path(), "--threads", "1"});
    const Client client = program.client();
    const Wire wire(client.port());
    wire.send("GET /api/events HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " +
              client.key() + "\r\n\r\n");
    const std::string id = only_capture(client);
    REQUIRE(client.post("/api/captures/" + id + "/survey", json::object()).status == 201);
    const auto begin = std::chrono::steady_clock::now();
    CHECK(program.end(SIGINT) == 130);
    CHECK(seconds_since(begin) < 1);
  }

  TEST_CASE("a killed desk leaves nothing half-written, and the next one lists its jobs") {
    const TemporaryFolder folder;
    fs::copy_file(sample("highland.mkv"), folder / "highland.mkv");
    {
      Program program({folder.path(), "--threads", "1"});
      const Client client = program.client();
      const std::string id = only_capture(client);
      const json body = {{"verb", "stack"}, {"captures", {id}}, {"output", "moon.tif"}};
      REQUIRE(client.post("/api/jobs", body).status == 201);
      REQUIRE(client.post("/api/jobs", {{"verb", "stack"}, {"captures", {id}}}).status == 201);
      for (int i = 0; i < 100; ++i) {
        const json job = client.get("/api/jobs/1").json();
        if (job.at("state") == "running" && job.at("share") > 0) break;
        std::this_thread::sleep_for(5ms);
      }
      CHECK(program.end(SIGKILL) == 128 + SIGKILL);
    }
    for (const auto& entry : fs::directory_iterator(folder / "results"))
      CHECK(entry.path().filename().string().starts_with(".lull-"));
    const Program program({folder.path()});
    const json jobs = program.client().get("/api/jobs").json();
    REQUIRE(jobs.at("jobs").size() == 2);
    CHECK(jobs.at("jobs")[1].at("state") == "interrupted");
    CHECK(jobs.at("jobs")[1].at("output") == "moon.tif");
    CHECK(program.client().get("/api/results").json().at("results").empty());
  }

  TEST_CASE("two desks on one port: the second says so") {
    const TemporaryFolder folder;
    const Program program({folder.path()});
    const std::string port = std::to_string(program.client().port());
    check_refused({"desk", folder.path(), "--no-open", "--port", port}, 5,
                  "port " + port + " of 127.0.0.1 is taken, perhaps by another desk");
    CHECK(program.client().get("/api/desk").status == 200);
  }

  TEST_CASE("folders and addresses that are not there are refused before anything is served") {
    const TemporaryFolder folder;
    std::ofstream(folder / "file") << "x";
    check_refused({"desk", folder.file("nowhere")}, 3, "nowhere");
    check_refused({"desk", folder.file("file")}, 3, "this is no folder");
    check_refused({"desk", folder.path(), "--port", "70000"}, 2, "--port");
    check_refused({"desk", folder.path(), "--listen", "no host.invalid"}, 2, "--listen");
    check_refused({"desk", folder.path(), "--memory", "1"}, 2, "--memory");
  }

  TEST_CASE("a desk that others can reach says what that means") {
    const TemporaryFolder folder;
    RunOptions options;
    options.interrupt_after_ms = 1500;
    const Run run = run_lull({"desk", folder.path(), "--no-open", "--listen", "0.0.0.0"}, options);
    CHECK(run.status == 0);
    CHECK(contains(run.errors, "warning: --listen 0.0.0.0: other machines can reach the desk"));
    CHECK(contains(run.output, "http://127.0.0.1:"));
  }
}
