#pragma once

#include <string>
#include <string_view>

/// The page for a phone in the field (field_page.html) and what keeps it there without a link
/// (field_worker.js), both part of the program.
namespace stonecall::server {

std::string_view field_page();
std::string_view field_worker();

/// Content-Security-Policy (CSP Level 3) of the page: its own script and style, named by their
/// digests, and nothing else.
const std::string& field_page_policy();

}  // namespace stonecall::server
