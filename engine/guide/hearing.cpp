#include "engine/guide/hearing.hpp"

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>

#include "engine/job/hazards.hpp"

namespace wheeltapper::guide {

using Kind = job::Topic::Kind;
using nlohmann::json;

namespace {

/// So that each text has a mark of its own, and two benches that heard the same have the same.
std::string print_of(const std::string& words) {
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::uuid{})(words));
}

}  // namespace

job::Topic settling(const std::string& words) { return {Kind::settled, print_of(words)}; }

std::vector<std::string> unsettled(const job::Job& job) {
  std::vector<std::string> words;
  for (const auto& [topic, heard] : job.marks) {
    if (topic.kind != Kind::heard) continue;
    const auto settled = job.marks.find({Kind::settled, topic.id});
    // By somebody who had the words before them: a none from another bench settles nothing.
    if (settled != job.marks.end() && job.saw(settled->second.order, heard.order)) continue;
    words.push_back(heard.word);
  }
  return words;
}

std::vector<job::Draft> hear(const Position& position, std::string_view text) {
  std::string words = boost::trim_copy(std::string(text));
  const auto heard = job::hazards_heard(*position.catalogue, position.the_case.family, words);
  const auto active = job::hazards_of(position.job, position.job.stage(), *position.catalogue).active;
  const bool asks =
      boost::iequals(words, kWholeList) || (heard.empty() && boost::istarts_with(words, std::string(kWholeList) + " "));
  if (!asks && std::ranges::all_of(heard, [&](const auto* each) { return active.contains(each->id); })) return {};
  if (asks) words = kWholeList;
  return {{job::EventKind::marked, json{{"key", job::text_of({Kind::heard, print_of(words)})}, {"word", words}}}};
}

}  // namespace wheeltapper::guide
