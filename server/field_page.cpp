#include "server/field_page.hpp"

#include <array>
#include <cassert>

#include <openssl/evp.h>
#include <openssl/sha.h>

extern "C" {
extern const char stonecall_field_page_begin[];
extern const char stonecall_field_page_end[];
extern const char stonecall_field_worker_begin[];
extern const char stonecall_field_worker_end[];
}

namespace stonecall::server {
namespace {

std::string_view between(std::string_view text, std::string_view begin, std::string_view end) {
  const std::size_t from = text.find(begin);
  assert(from != std::string_view::npos);
  text.remove_prefix(from + begin.size());
  const std::size_t to = text.find(end);
  assert(to != std::string_view::npos);
  return text.substr(0, to);
}

/// A hash-source as CSP Level 3, 2.3.1 has it.
std::string source_of(std::string_view text) {
  std::array<unsigned char, SHA256_DIGEST_LENGTH> digest{};
  SHA256(reinterpret_cast<const unsigned char*>(text.data()), text.size(), digest.data());
  std::array<unsigned char, (SHA256_DIGEST_LENGTH + 2) / 3 * 4 + 1> base64{};
  EVP_EncodeBlock(base64.data(), digest.data(), static_cast<int>(digest.size()));
  return "'sha256-" + std::string(reinterpret_cast<const char*>(base64.data())) + "'";
}

}  // namespace

std::string_view field_page() {
  return {stonecall_field_page_begin, stonecall_field_page_end};
}

std::string_view field_worker() {
  return {stonecall_field_worker_begin, stonecall_field_worker_end};
}

const std::string& field_page_policy() {
  static const std::string policy = "default-src 'none'; script-src " +
                                    source_of(between(field_page(), "<script>", "</script>")) +
                                    "; style-src " +
                                    source_of(between(field_page(), "<style>", "</style>")) +
                                    "; connect-src 'self'; worker-src 'self'; img-src data:; "
                                    "base-uri 'none'; form-action 'none'; "
                                    "frame-ancestors 'none'";
  return policy;
}

}  // namespace stonecall::server
