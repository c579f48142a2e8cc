#include <fmt/format.h>

#include "console/debrief/sections/sections.hpp"

namespace stonecall::debrief::sections {

Markup questions(const Debrief& debrief, Pen& pen) {
  const auto& picture = *debrief.picture;
  Table open("Asked and not answered in the log.", {{"At"}, {"From"}, {"To"}, {"Question"}});
  std::size_t unanswered = 0;
  for (const auto& asked : picture.questions) {
    if (!asked.answers.empty()) continue;
    ++unanswered;
    const auto& to = asked.question.to;
    open.row({pen.elapsed(asked.origin.at), asked.origin.from,
              !to                            ? "–"
              : *to == protocol::Side::field ? "the field"
                                             : "the back room",
              asked.question.text});
  }
  Markup page = element(
      "p", picture.questions.empty()
               ? std::string("No question was put as a question in the log.")
               : fmt::format("{} of {} without an answer. An answer that was only spoken does not "
                             "count as one here.",
                             unanswered, count(picture.questions.size(), "question", "questions")));
  if (!open.empty()) page += open.markup();

  Table pinned("Pinned during the exercise.", {{"At"}, {"From"}, {"Remark"}});
  for (const auto& each : picture.remarks)
    if (each.remark.pin.value_or(false))
      pinned.row({pen.elapsed(each.origin.at), each.origin.from, each.remark.text});
  if (!pinned.empty()) page += element("h3", "Marked for the debrief") + pinned.markup();
  return page;
}

}  // namespace stonecall::debrief::sections
