// Guided jobs answered at random: whatever is said, a hazard that stands keeps the power off, and the job goes on.
#include <catch2/catch.hpp>
#include <map>
#include <random>

#include "knowledge/shipped.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/led_job.hpp"

using namespace wheeltapper;

namespace {

using Random = std::mt19937_64;
using Ask = guide::Prompt::Ask;

std::string some(std::initializer_list<const char*> words, Random& random) {
  return *(words.begin() + static_cast<std::ptrdiff_t>(random() % words.size()));
}

std::string some_numbers(const guide::Prompt& prompt, Random& random) {
  if (random() % 2 == 0 || prompt.choices.empty()) return "none";
  return std::to_string(1 + random() % prompt.choices.size());
}

std::string some_answer(const guide::Prompt& prompt, Random& random) {
  switch (prompt.ask) {
    case Ask::text:
      return "Fernhill No. 1";
    case Ask::yes_no:
    case Ask::level:
      return some({"yes", "no", "no", "unsure"}, random);
    case Ask::quantity:
      return prompt.unit == "A" ? some({"1.5", "2.6", "skip"}, random) : some({"9", "7"}, random);
    case Ask::laps:
      return some({"9.9", "7.1", "skip"}, random);
    case Ask::count:
      return "4";
    case Ask::some:
    case Ask::check:
      return some_numbers(prompt, random);
    case Ask::repair:
      return some({"yes", "20 min", "skip"}, random);
    case Ask::outcome:
      return "1";
  }
  return "no";
}

}  // namespace

TEST_CASE("random jobs keep the power off while a hazard stands, and come to an end or go on", "[guide]") {
  Random random(5);
  for (int walk = 0; walk < tests::times(15, 3); ++walk) {
    tests::Led led(knowledge::shipped());
    std::map<std::string, int> same;  // how often the same was asked with nothing changed since
    for (int step = 0; step < 30; ++step) {
      const guide::Position at = led.at();
      if (!at.prompt) break;
      const guide::Prompt& prompt = *at.prompt;
      INFO("walk " << walk << ", step " << step << ", " << text_of(prompt.topic));
      const auto held = plan::withheld(at.diagnosis.advice.gates);
      if (held != plan::Withheld::no) {
        CHECK(prompt.topic.kind != job::Topic::Kind::runs);
        CHECK_FALSE(prompt.topic.kind == job::Topic::Kind::reading);
        CHECK_FALSE(prompt.topic.kind == job::Topic::Kind::repeat);
        CHECK(prompt.topic.kind != job::Topic::Kind::retest_eye);
        if (prompt.ask == Ask::check) CHECK(at.diagnosis.advice.next->check->power == catalogue::Power::unplugged);
        if (prompt.ask == Ask::repair) CHECK(held == plan::Withheld::live);
      }
      CHECK(++same[text_of(prompt.topic) + "/" + std::to_string(at.job.stage())] <= 4);
      const std::string trouble = led.say(some_answer(prompt, random));
      if (!trouble.empty()) led.say(prompt.may_skip ? "skip" : "no");
    }
  }
}
