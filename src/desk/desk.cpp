#include "desk/desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <optional>
#include <system_error>

#include "core/error.h"
#include "desk/access.h"
#include "desk/http_server.h"
#include "desk/routes.h"

namespace lull::desk {

Parts::Parts(DeskRequest wanted, const run::Resources& machine)
    : request(std::move(wanted)),
      resources(machine),
      instruments(request.folder, request.profile),
      catalogue({request.folder, request.results_folder()}, machine, events),
      frames(machine),
      results(request.results_folder()),
      record(request.results_folder()),
      jobs(machine, [this](const Job& job) { job_changed(*this, job); }) {
  for (const Job& job : record.take_over()) jobs.add_interrupted(job.facts, job.created_s);
  record.write(jobs.jobs());
}

class Desk::Works {
 public:
  Works(const DeskRequest& request, const run::Resources& resources)
      : parts_(request, resources), server_(request.listen, request.port) {
    access_.emplace(request.listen, server_.port());
    add_desk_routes(router_, parts_);
    add_capture_routes(router_, parts_);
    add_frame_routes(router_, parts_);
    add_survey_routes(router_, parts_);
    add_job_routes(router_, parts_);
    add_result_routes(router_, parts_);
    add_night_routes(router_, parts_);
    add_tune_routes(router_, parts_);
    add_view_routes(router_, parts_);
    server_.start({[this](const Request& asked) { return access_->check(asked); },
                   [this](const Request& asked) { return router_.answer(asked); }});
  }

  // Streams of events would wait for news otherwise. Jobs that are cancelled now stay listed.
  ~Works() {
    parts_.events.close();
    parts_.record.close();
  }

  Works(const Works&) = delete;
  Works& operator=(const Works&) = delete;

  [[nodiscard]] int port() const { return server_.port(); }

  [[nodiscard]] std::string address_with(const std::string& key) const {
    const std::string& listen = parts_.request.listen;
    const bool any = listen == "0.0.0.0" || listen == "::";
    const std::string host = any                                     ? "127.0.0.1"
                             : listen.find(':') == std::string::npos ? listen
                                                                     : "[" + listen + "]";
    return fmt::format("http://{}:{}/?key={}", host, port(), key);
  }

  [[nodiscard]] Access& access() { return *access_; }

  [[nodiscard]] Parts& parts() { return parts_; }

 private:
  Parts parts_;
  Router router_;
  std::optional<Access> access_;
  HttpServer server_;  ///< after what its threads use, so that they end first
};

Desk::Desk(const DeskRequest& request, const run::Resources& resources)
    : works_(std::make_unique<Works>(request, resources)) {}

Desk::~Desk() = default;

std::string Desk::address() const { return works_->address_with(works_->access().key()); }

std::string Desk::one_time_address() {
  return works_->address_with(works_->access().one_time_key());
}

int Desk::port() const { return works_->port(); }

bool Desk::is_at_work() const {
  const auto jobs = works_->parts().jobs.jobs();
  return std::any_of(jobs.begin(), jobs.end(), [](const Job& job) { return !job.has_ended(); });
}

void check_folder(const std::string& folder) {
  std::error_code error;
  const std::filesystem::directory_iterator entries(folder, error);
  if (!error) return;
  throw InputError(
      fmt::format("{}: {}; name the folder that holds the captures", folder,
                  error == std::errc::not_a_directory ? "this is no folder" : error.message()));
}

bool is_loopback(const std::string& address) {
  return address == "localhost" || address == "::1" || address.starts_with("127.");
}

}  // namespace lull::desk
