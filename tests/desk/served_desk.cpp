#include "desk/served_desk.h"

#include <doctest/doctest.h>

#include <chrono>
#include <thread>

namespace lull::test {

namespace fs = std::filesystem;

ServedDesk::ServedDesk(const std::vector<std::string>& samples) {
  for (const std::string& name : samples) fs::copy_file(sample(name), folder_ / name);
  restart();
}

void ServedDesk::restart(const std::string& profile) {
  desk_.reset();
  desk::DeskRequest request;
  request.folder = folder_.path();
  request.profile = profile;
  desk_ = std::make_unique<desk::Desk>(request, run::Resources{});
  client_ = std::make_unique<Client>(desk_->address());
}

nlohmann::json ServedDesk::listed(const std::string& name) const {
  const Reply reply = ask_until("/api/captures", [](const Reply& one) {
    return one.status == 200 && one.json().at("complete") == true;
  });
  const nlohmann::json list = reply.json();
  for (const auto& capture : list.at("captures")) {
    if (capture.at("name") == name) return capture;
  }
  return nullptr;
}

std::string ServedDesk::capture(const std::string& name) const {
  const nlohmann::json found = listed(name);
  REQUIRE_FALSE(found.is_null());
  return "/api/captures/" + found.at("id").get<std::string>();
}

Reply ServedDesk::ask_until(const std::string& target,
                            const std::function<bool(const Reply&)>& holds) const {
  Reply reply = client_->get(target);
  for (int i = 0; i < 4000 && !holds(reply); ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    reply = client_->get(target);
  }
  return reply;
}

nlohmann::json ServedDesk::end_of_job(const nlohmann::json& job) const {
  return ask_until("/api/jobs/" + std::to_string(job.at("id").get<int>()),
                   [](const Reply& reply) {
                     const std::string state = reply.json().at("state");
                     return state != "waiting" && state != "running" && state != "paused";
                   })
      .json();
}

}  // namespace lull::test
