// Small invented complaints, at least two for each point that the knowledge must take in (common practice, no source):
// causes that must stay in the first places, places that must, and causes that must not be sunk by a yes.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "engine/belief/belief.hpp"
#include "engine/cases/case.hpp"
#include "knowledge/shipped.hpp"

using namespace wheeltapper;

namespace {

constexpr std::size_t kFirst = 5;  // places in the ranking that count as "first"
constexpr std::size_t kFirstPlaces = 3;

const nlohmann::json& complaints() {
  static const nlohmann::json all = [] {
    std::ifstream in(WHEELTAPPER_SOURCE_DIR "/tests/property/complaints.json");
    return nlohmann::json::parse(in);
  }();
  return all;
}

std::shared_ptr<const belief::Network> network_of(const nlohmann::json& complaint) {
  belief::Background background;
  for (const auto& id : complaint.at("context")) background.contexts.push_back(id);
  return std::make_shared<const belief::Network>(knowledge::shipped(), "ac-series", background);
}

belief::Belief belief_of(const nlohmann::json& complaint) {
  const auto network = network_of(complaint);
  belief::Observations observations;
  for (const auto& [id, word] : complaint.at("say").items()) {
    const auto* finding = knowledge::shipped()->finding(id);
    REQUIRE(finding != nullptr);
    observations.answers.push_back({id, cases::level_of(*finding, word.get<std::string>())});
  }
  return belief::infer(network, belief::gather(*network, observations), {.sets = 0, .explained = 0, .limits = {}});
}

double chance_of(const belief::Belief& belief, const std::string& cause) {
  const auto at = belief.network->index(cause);
  REQUIRE(at.has_value());
  return belief.posterior[*at];
}

}  // namespace

TEST_CASE("every complaint keeps the right causes and places first", "[knowledge]") {
  for (const auto& complaint : complaints()) {
    const auto belief = belief_of(complaint);
    const std::string title = complaint.at("title");
    CAPTURE(title);
    std::vector<std::string> first;
    for (std::size_t r = 0; r < kFirst; ++r) first.push_back(belief.network->causes()[belief.ranking[r]]->id);
    CAPTURE(first);
    for (const auto& id : complaint.value("first", nlohmann::json::array())) {
      const std::string cause = id;
      CAPTURE(cause);
      CHECK(std::ranges::find(first, cause) != first.end());
    }
    if (complaint.contains("place")) {
      const std::string place = complaint.at("place");
      bool found = false;
      for (std::size_t p = 0; p < kFirstPlaces; ++p) found = found || belief.places[p].place->id == place;
      CAPTURE(place);
      CHECK(found);
    }
  }
}

TEST_CASE("no complaint sinks a cause that could be behind it", "[knowledge]") {
  const auto before =
      belief::infer(network_of({{"context", nlohmann::json::array()}}), {}, {.sets = 0, .explained = 0, .limits = {}});
  for (const auto& complaint : complaints()) {
    const auto belief = belief_of(complaint);
    const std::string title = complaint.at("title");
    CAPTURE(title);
    for (const auto& id : complaint.value("not-sunk", nlohmann::json::array())) {
      const std::string cause = id;
      CAPTURE(cause);
      CHECK(chance_of(belief, cause) >= 0.5 * chance_of(before, cause));
    }
  }
}

TEST_CASE("each point of the requirements that concerns this family has at least two complaints", "[knowledge]") {
  std::map<int, int> count;
  for (const auto& complaint : complaints()) ++count[complaint.at("point").get<int>()];
  for (int point = 1; point <= 14; ++point) {
    CAPTURE(point);
    CHECK(count[point] >= 2);
  }
}
