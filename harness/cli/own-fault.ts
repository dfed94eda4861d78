/** What follows our own fault: that it says nothing about anybody else's work, and what we need to find it. */
export function askForReport(version: string | undefined): string {
  const { version: node, platform, arch } = process;
  return `This says nothing about your site or your controller: nothing that fell over counts as passed.
Please report it. Send the text above, the command, the scenario files with their sites, your controller if one
was attached, and this: deadbus ${version ?? '(version unknown)'}, Node ${node}, ${platform} ${arch}.
`;
}
