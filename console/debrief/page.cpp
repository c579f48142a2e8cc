#include "console/debrief/page.hpp"

#include "console/debrief/style.hpp"

namespace stonecall::debrief {
namespace {

/// Heads and feet of printed pages, for readers whose browser knows the margin boxes of CSS Paged
/// Media; elsewhere the browser's own stand there.
std::string running_heads(const PageHeads& heads) {
  const std::string face = "font: 400 12px Inter, Arial, sans-serif; color: #5e6063;";
  return "@page { margin: 20mm 16mm 18mm;\n"
         "  @top-left { content: " +
         css_string(heads.name) + "; " + face +
         " }\n  @top-right { content: " + css_string(heads.what) + "; " + face +
         " }\n"
         "  @bottom-left { content: \"Turn-back figures are an aid; the field leader decides.\"; " +
         face +
         " }\n"
         "  @bottom-right { content: counter(page) \" of \" counter(pages); " +
         face +
         " } }\n@page :first { @top-left { content: none; } @top-right { content: none; } }\n";
}

}  // namespace

Markup page_section(const std::string& id, const std::string& title, const Markup& inside) {
  const std::string title_id = id + "-title";
  return element("section", {{"id", id}, {"aria-labelledby", title_id}},
                 element("h2", {{"id", title_id}}, title) + inside);
}

std::string html_page(const PageHeads& heads, const Markup& body) {
  const Markup head =
      Markup::verbatim(
          "<meta charset=\"utf-8\">\n"
          "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n") +
      element("title", heads.title) +
      Markup::verbatim("<style>" + std::string(style_sheet) + running_heads(heads) + "</style>\n");
  return "<!DOCTYPE html>\n" +
         element("html", {{"lang", "en"}}, element("head", head) + element("body", body)).html();
}

}  // namespace stonecall::debrief
