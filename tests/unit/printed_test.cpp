// What a failing check says: no "{?}" for what our tests compare.
#include "tests/support/printed.hpp"

namespace {

using Catch::Detail::stringify;
using namespace wheeltapper;

TEST_CASE("our types print themselves in a check that fails", "[printed]") {
  CHECK(stringify(job::EventKind::closed) == "closed");
  CHECK(stringify(job::Outcome::not_cured) == "not-cured");
  CHECK(stringify(bench::Direction::reverse) == "reverse");
  CHECK(stringify(std::vector{bench::RunKind::loaded, bench::RunKind::motor_only}) == "{ loaded, motor-only }");
  CHECK(stringify(std::optional(job::Outcome::cured)) == "cured");
  CHECK(stringify(measure::unit("V")) == "V");
  CHECK(stringify(measure::Measurement(1.7, 0.025, measure::unit("A"))) == "1.70 ± 0.05 A");
  CHECK(stringify(input::Problem{"a.json", "/rate", "is -1", "a number above 0"}) ==
        "a.json#/rate: is -1; allowed: a number above 0");
  job::Event event;
  event.kind = job::EventKind::note;
  event.body = {{"text", "one drop each"}};
  CHECK(stringify(event).find("one drop each") != std::string::npos);
  job::Summary summary;
  summary.findings = {{"squeal", 2, job::Summary::Seen::By::answer}};
  summary.causes = {"bearing-dry"};
  CHECK(stringify(summary) == "findings { squeal at level 2 }, results {  }, fixes {  }, causes [\"bearing-dry\"]");
}

}  // namespace
