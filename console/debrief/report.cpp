#include "console/debrief/report.hpp"

#include <array>

#include "console/debrief/markup.hpp"
#include "console/debrief/page.hpp"
#include "console/debrief/pen.hpp"
#include "console/debrief/sections/sections.hpp"

namespace stonecall::debrief {
namespace {

struct Section {
  const char* id;
  const char* title;
  Markup (*write)(const Debrief&, Pen&);
};

constexpr std::array report_sections{
    Section{"glance", "Job and result at a glance", sections::glance},
    Section{"hours", "Planned and walked", sections::hours},
    Section{"samples", "Samples and what they lack", sections::samples},
    Section{"ground", "What the ground is made of", sections::ground},
    Section{"growth", "Kinds met and kinds to come", sections::growth},
    Section{"calls", "The calls, as known then", sections::calls},
    Section{"callers", "How the callers’ shares held", sections::callers},
    Section{"questions", "Questions left open", sections::questions},
    Section{"log", "The log’s own checks", sections::log},
    Section{"cautions", "Cautions", sections::cautions},
    Section{"method", "Settings and method", sections::method},
};

std::string name_of(const Debrief& debrief) {
  return debrief.picture->plan ? debrief.picture->plan->name : debrief.name;
}

Markup heading(const Debrief& debrief, const Pen& pen) {
  const auto& plan = debrief.picture->plan;
  Markup head = element("h1", name_of(debrief));
  if (plan && !plan->place.empty()) head += element("p", plan->place);
  std::string when = pen.date() + ", from " + pen.local(debrief.start) + ". ";
  if (plan)
    when += "Back by " +
            protocol::elapsed_minutes_text(protocol::from_minutes(plan->duration_minutes)) + ". ";
  when += "All times are hours and minutes from " + pen.counted_from() + ".";
  head += element("p", {{"class", "soft"}}, when);
  if (plan && !plan->people.empty()) {
    std::vector<std::string> field, room;
    for (const auto& person : plan->people)
      (person.role == protocol::Side::field ? field : room).push_back(person.name);
    std::string people;
    if (!field.empty()) people += "In the field " + listed(field) + ". ";
    if (!room.empty()) people += "In the back room " + listed(room) + ".";
    head += element("p", {{"class", "soft"}}, people);
  }
  return element("header", head);
}

Markup contents() {
  Markup list;
  for (const Section& section : report_sections)
    list += element("li", element("a", {{"href", std::string("#") + section.id}}, section.title));
  return element("nav", {{"aria-label", "Sections"}}, element("ul", list));
}

}  // namespace

std::string report(const Debrief& debrief) {
  Pen pen(debrief);
  Markup sections;
  for (const Section& section : report_sections)
    sections += page_section(section.id, section.title, section.write(debrief, pen));
  const std::string name = name_of(debrief) + ", " + pen.date();
  return html_page({"Debrief: " + name, "Debrief", name},
                   pen.glyphs() + heading(debrief, pen) + contents() + element("main", sections));
}

}  // namespace stonecall::debrief
